"""Which way do the triangles and corners of a surface face?"""

import numpy as np

from casework.measure.jit import jit


def face_normals(vertices: np.ndarray, faces: np.ndarray) -> np.ndarray:
    """Return unit normals (n, 3) of faces (n, 3); zero for a triangle without area."""
    normals, areas = _normals_and_areas(*contiguous(vertices, faces))
    return normals


def face_areas(vertices: np.ndarray, faces: np.ndarray) -> np.ndarray:
    """Return the area of each face in mm2 (n,)."""
    normals, areas = _normals_and_areas(*contiguous(vertices, faces))
    return areas


def contiguous(vertices: np.ndarray, faces: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Return vertices (m, 3), faces (n, 3) as loops read them: float64, int32, in C order."""
    return np.ascontiguousarray(vertices, np.float64), np.ascontiguousarray(faces, np.int32)


@jit
def _normals_and_areas(vertices, faces):
    normals, areas = np.zeros((len(faces), 3)), np.zeros(len(faces))
    for f in range(len(faces)):
        a, b, c = faces[f, 0], faces[f, 1], faces[f, 2]
        ux, uy, uz = (
            vertices[b, 0] - vertices[a, 0],
            vertices[b, 1] - vertices[a, 1],
            vertices[b, 2] - vertices[a, 2],
        )
        vx, vy, vz = (
            vertices[c, 0] - vertices[a, 0],
            vertices[c, 1] - vertices[a, 1],
            vertices[c, 2] - vertices[a, 2],
        )
        x, y, z = uy * vz - uz * vy, uz * vx - ux * vz, ux * vy - uy * vx
        length = np.sqrt(x * x + y * y + z * z)
        areas[f] = 0.5 * length
        if length > 0.0:
            normals[f, 0], normals[f, 1], normals[f, 2] = x / length, y / length, z / length
    return normals, areas


def vertex_normals(vertices: np.ndarray, faces: np.ndarray) -> np.ndarray:
    """Return unit normals (m, 3) of vertices (m, 3), faces weighted by their angle there.

    The weight by angle gives the right side of a closed surface for the point nearest to a
    vertex (J. A. Bærentzen and H. Aanæs, Signed distance computation using the angle weighted
    pseudonormal, IEEE Transactions on Visualization and Computer Graphics 2005). Zero where no
    face meets.
    """
    return _vertex_normals(*contiguous(vertices, faces))


@jit
def _vertex_normals(vertices, faces):
    total = np.zeros_like(vertices)
    sides = np.empty((3, 3))
    lengths = np.empty(3)
    for f in range(len(faces)):
        for k in range(3):
            length = 0.0
            for x in range(3):
                side = vertices[faces[f, (k + 1) % 3], x] - vertices[faces[f, k], x]
                sides[k, x] = side
                length += side * side
            lengths[k] = np.sqrt(length)
        nx = sides[0, 1] * sides[1, 2] - sides[0, 2] * sides[1, 1]
        ny = sides[0, 2] * sides[1, 0] - sides[0, 0] * sides[1, 2]
        nz = sides[0, 0] * sides[1, 1] - sides[0, 1] * sides[1, 0]
        norm = np.sqrt(nx * nx + ny * ny + nz * nz)
        if norm == 0.0:
            continue
        for k in range(3):
            before = (k + 2) % 3
            along = 0.0
            for x in range(3):
                along -= sides[k, x] * sides[before, x]
            # Twice the area over the product of the sides is the sine of the angle.
            angle = np.arctan2(norm, along)
            v = faces[f, k]
            total[v, 0] += angle * nx / norm
            total[v, 1] += angle * ny / norm
            total[v, 2] += angle * nz / norm
    for v in range(len(total)):
        norm = np.sqrt(total[v, 0] ** 2 + total[v, 1] ** 2 + total[v, 2] ** 2)
        if norm > 0.0:
            for x in range(3):
                total[v, x] /= norm
    return total
