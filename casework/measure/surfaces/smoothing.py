"""How is a scanner's noise taken off a surface without shrinking it?"""

import numpy as np

from casework.measure.jit import jit

INWARD, OUTWARD = 0.5, -0.53  # step of each half pass; the second undoes the shrinking


def smoothed(vertices: np.ndarray, faces: np.ndarray, passes: int = 10) -> np.ndarray:
    """Return vertices (m, 3) after so many double passes toward their neighbours and back.

    G. Taubin, A signal processing approach to fair surface design, SIGGRAPH 1995. Vertices on
    a border stay. Ten passes smooth over about four edge lengths.
    """
    vertices = np.ascontiguousarray(vertices, np.float64)
    starts, others, is_border = neighbours(np.ascontiguousarray(faces, np.int32), len(vertices))
    for _ in range(passes):
        vertices = _step(vertices, starts, others, is_border, INWARD)
        vertices = _step(vertices, starts, others, is_border, OUTWARD)
    return vertices


@jit
def neighbours(faces, vertex_count):
    """Return starts (m + 1,), others: the neighbours of each vertex, each once; is_border (m,).

    Neighbours stand in ascending order. A vertex is on a border where one of its edges belongs
    to another number of faces than two.
    """
    starts = np.zeros(vertex_count + 1, np.int64)
    for f in range(len(faces)):
        for k in range(3):
            starts[faces[f, k] + 1] += 2
    for v in range(vertex_count):
        starts[v + 1] += starts[v]
    raw = np.empty(starts[-1], np.int32)
    behind = starts[:-1].copy()
    for f in range(len(faces)):
        for k in range(3):
            v = faces[f, k]
            raw[behind[v]] = faces[f, (k + 1) % 3]
            raw[behind[v] + 1] = faces[f, (k + 2) % 3]
            behind[v] += 2
    others = np.empty(len(raw), np.int32)
    firsts = np.zeros(vertex_count + 1, np.int64)
    is_border = np.zeros(vertex_count, np.bool_)
    count = 0
    for v in range(vertex_count):
        row = raw[starts[v] : starts[v + 1]]
        for i in range(1, len(row)):
            one, j = row[i], i
            while j > 0 and row[j - 1] > one:
                row[j] = row[j - 1]
                j -= 1
            row[j] = one
        i = 0
        while i < len(row):
            j = i
            while j < len(row) and row[j] == row[i]:
                j += 1
            if j - i != 2:
                is_border[v] = True
            if row[i] != v:
                others[count] = row[i]
                count += 1
            i = j
        firsts[v + 1] = count
    return firsts, others[:count].copy(), is_border


@jit
def _step(vertices, starts, others, is_border, share):
    moved = vertices.copy()
    for v in range(len(vertices)):
        count = starts[v + 1] - starts[v]
        if is_border[v] or count == 0:
            continue
        for x in range(3):
            total = 0.0
            for k in range(starts[v], starts[v + 1]):
                total += vertices[others[k], x]
            moved[v, x] += share * (total / count - vertices[v, x])
    return moved
