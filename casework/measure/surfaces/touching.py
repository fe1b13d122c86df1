"""Which triangles of a surface touch along an edge?"""

import numpy as np

from casework.measure.jit import jit


def faces_across(faces: np.ndarray, vertex_count: int) -> np.ndarray:
    """Return the face beyond each edge (n, 3) int32; edge k runs from corner k to the next.

    -1 where an edge has no other face. Where it has several, two of them are paired in the
    order of the faces and a last one left over takes the first.
    """
    return _faces_across(np.ascontiguousarray(faces, np.int32), vertex_count)


@jit
def _faces_across(faces, vertex_count):
    starts = np.zeros(vertex_count + 1, np.int64)
    for f in range(len(faces)):
        for k in range(3):
            starts[min(faces[f, k], faces[f, (k + 1) % 3]) + 1] += 1
    for v in range(vertex_count):
        starts[v + 1] += starts[v]
    high = np.empty(starts[-1], np.int32)
    owner = np.empty(starts[-1], np.int64)
    behind = starts[:-1].copy()
    for f in range(len(faces)):
        for k in range(3):
            i, j = faces[f, k], faces[f, (k + 1) % 3]
            at = behind[min(i, j)]
            high[at], owner[at] = max(i, j), 3 * f + k
            behind[min(i, j)] += 1
    across = np.full(faces.shape, -1, np.int32)
    for v in range(vertex_count):
        for i in range(starts[v], starts[v + 1]):
            f, k = owner[i] // 3, owner[i] % 3
            if across[f, k] >= 0:
                continue
            spare = -1
            for j in range(starts[v], starts[v + 1]):
                if j == i or high[j] != high[i] or owner[j] // 3 == f:
                    continue
                g, m = owner[j] // 3, owner[j] % 3
                if j > i and across[g, m] < 0:
                    across[f, k], across[g, m] = g, f
                    spare = -1
                    break
                if spare < 0:
                    spare = g
            if across[f, k] < 0 and spare >= 0:
                across[f, k] = spare
    return across
