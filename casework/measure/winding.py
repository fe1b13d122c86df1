"""Which triangles of a surface are turned against their neighbours?"""

import numpy as np

from casework.measure.jit import jit


def turned(faces: np.ndarray, vertex_count: int) -> tuple[np.ndarray, bool]:
    """Say which faces are wound against their neighbours, and whether one winding exists.

    Neighbours are the two triangles of an edge that has just two. Of the two windings of each
    patch of neighbours the rarer counts as turned; where equally many, the one not of the
    patch's first face.
    """
    return _turned(*_sides(faces, vertex_count), len(faces))


@jit
def _sides(faces, vertex_count):
    """Sort the sides into one bucket a low vertex: starts, high vertex and direction, face."""
    starts = np.zeros(vertex_count + 1, np.int64)
    for f in range(len(faces)):
        for k in range(3):
            starts[min(faces[f, k], faces[f, (k + 1) % 3]) + 1] += 1
    for v in range(vertex_count):
        starts[v + 1] += starts[v]
    sides = np.empty(3 * len(faces), np.int64)
    owner = np.empty(3 * len(faces), np.int64)
    behind = starts[:-1].copy()
    for f in range(len(faces)):
        for k in range(3):
            i, j = np.int64(faces[f, k]), np.int64(faces[f, (k + 1) % 3])
            at = behind[min(i, j)]
            sides[at], owner[at] = (max(i, j) << 1) | (i > j), f
            behind[min(i, j)] += 1
    for v in range(vertex_count):
        first, last = starts[v], starts[v + 1]
        if last - first > 40:
            order = np.argsort(sides[first:last])
            sides[first:last] = sides[first:last][order]
            owner[first:last] = owner[first:last][order]
            continue
        for k in range(first + 1, last):
            side, face, j = sides[k], owner[k], k
            while j > first and sides[j - 1] > side:
                sides[j], owner[j] = sides[j - 1], owner[j - 1]
                j -= 1
            sides[j], owner[j] = side, face
    return starts, sides, owner


@jit
def _turned(starts, sides, owner, n):
    parent = np.arange(n)
    odd = np.zeros(n, np.bool_)  # wound against its parent
    is_orientable = True
    for v in range(len(starts) - 1):
        k = starts[v]
        while k < starts[v + 1]:
            behind = k + 1
            while behind < starts[v + 1] and sides[behind] >> 1 == sides[k] >> 1:
                behind += 1
            if behind - k == 2:
                differs = sides[k] == sides[k + 1]
                fits = _join(parent, odd, owner[k], owner[k + 1], differs)
                is_orientable = is_orientable and fits
            k = behind
    against = np.zeros(n, np.int64)
    total = np.zeros(n, np.int64)
    for f in range(n):
        r, is_odd = _root_odd(parent, odd, f)
        total[r] += 1
        against[r] += is_odd
    is_turned = np.empty(n, np.bool_)
    for f in range(n):
        r, is_odd = _root_odd(parent, odd, f)
        is_turned[f] = is_odd != (2 * against[r] > total[r])
    return is_turned, is_orientable


@jit
def _join(parent, odd, one, other, differs):
    """Note whether two neighbours are wound differently; False where that contradicts."""
    a, a_odd = _root_odd(parent, odd, one)
    b, b_odd = _root_odd(parent, odd, other)
    if a == b:
        return (a_odd != b_odd) == differs
    first, last = min(a, b), max(a, b)
    parent[last] = first
    odd[last] = (a_odd != b_odd) != differs
    return True


@jit
def _root_odd(parent, odd, i):
    is_odd = False
    while parent[i] != i:
        p = parent[i]
        if parent[p] != p:
            odd[i] = odd[i] != odd[p]
            parent[i] = parent[p]
        is_odd = is_odd != odd[i]
        i = parent[i]
    return i, is_odd
