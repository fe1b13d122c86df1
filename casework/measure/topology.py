"""How do the triangles of a surface hang together: edges, borders, pieces, winding?"""

from dataclasses import dataclass

import numpy as np

from casework.measure.jit import jit

SOUND, REPEATED, THIN = 0, 1, 2


@dataclass(frozen=True, eq=False)
class Edges:
    """The distinct edges of a surface.

    low, high (e,): vertex numbers, low < high; uses (e,): triangles at the edge; net (e,): how
    often it is walked from low to high, less how often the other way; repeated (m,) bool: the
    lowest vertices of faces that have the same three corners as another.
    """

    low: np.ndarray
    high: np.ndarray
    uses: np.ndarray
    net: np.ndarray
    repeated: np.ndarray

    @property
    def border(self) -> np.ndarray:
        """Places of the edges of one triangle only."""
        return np.flatnonzero(self.uses == 1)

    @property
    def non_manifold_count(self) -> int:
        """Number of edges of more than two triangles."""
        return int(np.count_nonzero(self.uses > 2))

    @property
    def crossed_count(self) -> int:
        """Number of edges whose two triangles walk it the same way."""
        return int(np.count_nonzero((self.uses == 2) & (self.net != 0)))

    @property
    def unsound_count(self) -> int:
        """Number of edges that are not shared by exactly two triangles."""
        return int(np.count_nonzero(self.uses != 2))


@jit
def scan_faces(vertices, faces, origin):
    """Judge each triangle: its kind, its area, six times its volume against the origin.

    A triangle is REPEATED where two corners are one vertex, and THIN where its height over the
    longest side is at most one float32 step (2^-23) of its largest coordinate.
    """
    n = len(faces)
    kinds = np.zeros(n, np.uint8)
    areas = np.empty(n, np.float64)
    volumes = np.empty(n, np.float64)
    a, b, c = np.empty(3), np.empty(3), np.empty(3)
    for f in range(n):
        i, j, k = faces[f, 0], faces[f, 1], faces[f, 2]
        largest, ab, bc, ca = 0.0, 0.0, 0.0, 0.0
        for x in range(3):
            a[x], b[x], c[x] = vertices[i, x], vertices[j, x], vertices[k, x]
            largest = max(largest, abs(a[x]), abs(b[x]), abs(c[x]))
            ab += (b[x] - a[x]) ** 2
            bc += (c[x] - b[x]) ** 2
            ca += (a[x] - c[x]) ** 2
            a[x] -= origin[x]
            b[x] -= origin[x]
            c[x] -= origin[x]
        u0, u1, u2 = b[0] - a[0], b[1] - a[1], b[2] - a[2]
        v0, v1, v2 = c[0] - a[0], c[1] - a[1], c[2] - a[2]
        n0, n1, n2 = u1 * v2 - u2 * v1, u2 * v0 - u0 * v2, u0 * v1 - u1 * v0
        double = np.sqrt(n0 * n0 + n1 * n1 + n2 * n2)
        if i == j or j == k or k == i:
            kinds[f] = REPEATED
            double = 0.0
        elif double <= np.sqrt(max(ab, bc, ca)) * largest * 2.0**-23:
            kinds[f] = THIN
        areas[f] = 0.5 * double
        volumes[f] = a[0] * n0 + a[1] * n1 + a[2] * n2
    return kinds, areas, volumes


def repeats(faces: np.ndarray, considered: np.ndarray) -> np.ndarray:
    """Say of each face (n, 3) whether an earlier one has the same corners, however turned.

    Only the considered faces (n,) bool take part.
    """
    is_repeat = np.zeros(len(faces), bool)
    places = np.flatnonzero(considered)
    corners = np.sort(faces[places], axis=1)
    order = np.lexsort((places, corners[:, 2], corners[:, 1], corners[:, 0]))
    same = (corners[order][1:] == corners[order][:-1]).all(axis=1)
    is_repeat[places[order[1:]][same]] = True
    return is_repeat


def edges_of(faces: np.ndarray, vertex_count: int) -> Edges:
    """Return the Edges of faces (n, 3), whose corners are three different vertices each."""
    return Edges(*_edges(faces, vertex_count))


@jit
def _edges(faces, vertex_count):
    """Sort the sides of the faces into one bucket a low vertex, then each small bucket."""
    starts = np.zeros(vertex_count + 1, np.int64)
    for f in range(len(faces)):
        for k in range(3):
            starts[min(faces[f, k], faces[f, (k + 1) % 3]) + 1] += 1
    for v in range(vertex_count):
        starts[v + 1] += starts[v]
    sides = np.empty(3 * len(faces), np.int64)  # high vertex, opposite vertex, direction
    behind = starts[:-1].copy()
    for f in range(len(faces)):
        for k in range(3):
            i, j = np.int64(faces[f, k]), np.int64(faces[f, (k + 1) % 3])
            opposite = np.int64(faces[f, (k + 2) % 3])
            low, high = min(i, j), max(i, j)
            sides[behind[low]] = (high << 32) | (opposite << 1) | (i > j)
            behind[low] += 1
    count = 0
    for v in range(vertex_count):
        bucket = sides[starts[v] : starts[v + 1]]
        _sort(bucket)
        for k in range(len(bucket)):
            count += k == 0 or bucket[k] >> 32 != bucket[k - 1] >> 32
    low, high = np.empty(count, np.int32), np.empty(count, np.int32)
    uses, net = np.zeros(count, np.int32), np.zeros(count, np.int32)
    e = -1
    repeated = np.zeros(vertex_count, np.bool_)
    for v in range(vertex_count):
        for k in range(starts[v], starts[v + 1]):
            side = sides[k]
            if k == starts[v] or side >> 32 != sides[k - 1] >> 32:
                e += 1
                low[e], high[e] = v, side >> 32
            elif side >> 1 == sides[k - 1] >> 1:
                repeated[min(v, (side & 0xFFFFFFFF) >> 1)] = True
            uses[e] += 1
            net[e] += -1 if side & 1 else 1
    return low, high, uses, net, repeated


@jit
def _sort(bucket):
    """Sort in place: by insertion where it is small, as it nearly always is."""
    if len(bucket) > 40:
        bucket.sort()
        return
    for k in range(1, len(bucket)):
        one, j = bucket[k], k
        while j > 0 and bucket[j - 1] > one:
            bucket[j] = bucket[j - 1]
            j -= 1
        bucket[j] = one


@jit
def lengths_of(vertices, low, high):
    """Return the lengths of edges (e,) between vertices."""
    lengths = np.empty(len(low), np.float64)
    for e in range(len(low)):
        total = 0.0
        for x in range(3):
            total += (vertices[low[e], x] - vertices[high[e], x]) ** 2
        lengths[e] = np.sqrt(total)
    return lengths


@jit
def _root(parent, i):
    while parent[i] != i:
        parent[i] = parent[parent[i]]
        i = parent[i]
    return i


@jit
def groups(pairs_a, pairs_b, vertex_count):
    """Number the groups of vertices that the pairs join: group of each vertex, group count.

    Vertices in no pair are given group -1.
    """
    parent = np.arange(vertex_count).astype(np.int32)
    for k in range(len(pairs_a)):
        a, b = _root(parent, pairs_a[k]), _root(parent, pairs_b[k])
        if a < b:
            parent[b] = a
        elif b < a:
            parent[a] = b
    group = np.full(vertex_count, -1, np.int32)
    count = 0
    for k in range(len(pairs_a)):
        r = _root(parent, pairs_a[k])
        if group[r] < 0:
            group[r] = count
            count += 1
        group[pairs_a[k]] = group[r]
        group[pairs_b[k]] = group[r]
    return group, count


@jit
def pieces(vertices, faces, kinds, areas, volumes, group, count):
    """Sum up each piece: sound triangles, area, six volumes, bounds (count, 2, 3)."""
    triangles = np.zeros(count, np.int64)
    area = np.zeros(count, np.float64)
    volume = np.zeros(count, np.float64)
    bounds = np.empty((count, 2, 3), np.float64)
    bounds[:, 0, :], bounds[:, 1, :] = np.inf, -np.inf
    for f in range(len(faces)):
        g = group[faces[f, 0]]
        if kinds[f] == SOUND:
            triangles[g] += 1
        area[g] += areas[f]
        volume[g] += volumes[f]
        for k in range(3):
            for x in range(3):
                value = vertices[faces[f, k], x]
                bounds[g, 0, x] = min(bounds[g, 0, x], value)
                bounds[g, 1, x] = max(bounds[g, 1, x], value)
    return triangles, area, volume, bounds
