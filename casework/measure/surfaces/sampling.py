"""Which points stand for a surface, however large its triangles are?"""

import numpy as np

from casework.measure.jit import jit

MOST_A_SIDE = 400  # parts into which the side of one triangle is cut at most


def spread(vertices: np.ndarray, faces: np.ndarray, step_mm: float):
    """Return points on the faces and the face of each: (points (k, 3), face (k,) int32).

    A face is cut into equal triangles with sides of at most `step_mm` (or a 400th of its own);
    the points are their centres, so that each stands for an equal part of its face.
    """
    vertices = np.ascontiguousarray(vertices, np.float64)
    return _spread(vertices, np.ascontiguousarray(faces, np.int32), float(step_mm))


@jit
def _parts(vertices, faces, f, step):
    longest = 0.0
    for k in range(3):
        square = 0.0
        for x in range(3):
            square += (vertices[faces[f, k], x] - vertices[faces[f, (k + 1) % 3], x]) ** 2
        longest = max(longest, square)
    return min(max(np.int64(np.ceil(np.sqrt(longest) / step)), 1), MOST_A_SIDE)


@jit
def _spread(vertices, faces, step):
    total = 0
    for f in range(len(faces)):
        total += _parts(vertices, faces, f, step) ** 2
    points, face = np.empty((total, 3)), np.empty(total, np.int32)
    count = 0
    for f in range(len(faces)):
        n = _parts(vertices, faces, f, step)
        a, b, c = faces[f, 0], faces[f, 1], faces[f, 2]
        for i in range(n):
            for j in range(n - i):
                # The triangle at (i, j), and beside it the one that points the other way.
                for turned in range(2 if j < n - i - 1 else 1):
                    s = (i + (1 + turned) / 3) / n
                    t = (j + (1 + turned) / 3) / n
                    for x in range(3):
                        points[count, x] = (
                            (1 - s - t) * vertices[a, x]
                            + s * vertices[b, x]
                            + t * vertices[c, x]
                        )
                    face[count] = f
                    count += 1
    return points, face
