"""How is a face of more than three corners split into triangles?

A convex face becomes a fan from its first corner. A hollow (concave) one is cut ear by ear in
the plane of its mean normal (Newell's normal; ear clipping after G. H. Meisters, Polygons have
ears, American Mathematical Monthly 1975), so that no triangle lies outside the face.
"""

import numpy as np

from casework.measure.faults import MeshUnreadable, note
from casework.measure.jit import jit

MOST_HOLLOW_CORNERS = 2000  # cutting ears takes time with the square of the corners


def triangles_of(points, corners, starts, name):
    """Split faces into triangles.

    points (k, 3) float64; corners: the point numbers of all faces, one after another; starts
    (faces + 1): where each face begins. Returns triangles (n, 3), the face of each (n,), notes.
    """
    sizes = np.diff(starts)
    if len(sizes) and (sizes == 3).all():
        return corners.reshape(-1, 3), np.arange(len(sizes)), ()
    triangles, owner, refused = _split(points, corners, starts, MOST_HOLLOW_CORNERS)
    if refused >= 0:
        raise MeshUnreadable(
            "polygon_too_large",
            name=name,
            face=refused + 1,
            corners=int(sizes[refused]),
            most=MOST_HOLLOW_CORNERS,
        )
    notes = ()
    if (sizes < 3).any():
        notes += (note("short_faces", count=int(np.count_nonzero(sizes < 3))),)
    if (sizes > 3).any():
        notes += (
            note(
                "polygons_split",
                polygons=int(np.count_nonzero(sizes > 3)),
                triangles=int((sizes[sizes > 3] - 2).sum()),
            ),
        )
    return triangles, owner, notes


@jit
def _split(points, corners, starts, most_hollow):
    total = 0
    for f in range(len(starts) - 1):
        total += max(starts[f + 1] - starts[f] - 2, 0)
    triangles = np.empty((total, 3), np.int64)
    owner = np.empty(total, np.int64)
    t = 0
    for f in range(len(starts) - 1):
        a, n = starts[f], starts[f + 1] - starts[f]
        if n < 3:
            continue
        if n == 3 or _is_convex(points, corners[a : a + n]):
            for k in range(n - 2):
                triangles[t, 0], triangles[t, 1] = corners[a], corners[a + k + 1]
                triangles[t, 2] = corners[a + k + 2]
                owner[t] = f
                t += 1
            continue
        if n > most_hollow:
            return triangles, owner, f
        t = _cut_ears(points, corners[a : a + n], triangles, owner, t, f)
    return triangles, owner, -1


@jit
def _flat(points, ring):
    """Return the ring's corners in the plane of its mean normal, (n, 2), turning left."""
    n = len(ring)
    normal = np.zeros(3)
    origin = points[ring[0]]
    for k in range(n):
        p, q = points[ring[k]] - origin, points[ring[(k + 1) % n]] - origin
        normal[0] += p[1] * q[2] - p[2] * q[1]
        normal[1] += p[2] * q[0] - p[0] * q[2]
        normal[2] += p[0] * q[1] - p[1] * q[0]
    out = 0
    for k in range(1, 3):
        if abs(normal[k]) > abs(normal[out]):
            out = k
    u, v = (out + 1) % 3, (out + 2) % 3
    if normal[out] < 0:
        u, v = v, u
    flat = np.empty((n, 2))
    for k in range(n):
        flat[k, 0] = points[ring[k], u] - origin[u]
        flat[k, 1] = points[ring[k], v] - origin[v]
    return flat


@jit
def _turn(flat, a, b, c):
    return (flat[b, 0] - flat[a, 0]) * (flat[c, 1] - flat[a, 1]) - (flat[b, 1] - flat[a, 1]) * (
        flat[c, 0] - flat[a, 0]
    )


@jit
def _is_convex(points, ring):
    flat = _flat(points, ring)
    n = len(ring)
    for k in range(n):
        if _turn(flat, k, (k + 1) % n, (k + 2) % n) < 0:
            return False
    for k in range(1, n - 1):  # a star that turns left at every corner is not convex
        if _turn(flat, 0, k, k + 1) < 0:
            return False
    return True


@jit
def _cut_ears(points, ring, triangles, owner, t, face):
    flat = _flat(points, ring)
    left = np.arange(len(ring))
    n = len(ring)
    while n > 3:
        ear = -1
        for k in range(n):
            a, b, c = left[(k - 1) % n], left[k], left[(k + 1) % n]
            if _turn(flat, a, b, c) <= 0:
                continue
            is_free = True
            for m in range(n):
                p = left[m]
                if p == a or p == b or p == c:
                    continue
                if (
                    _turn(flat, a, b, p) >= 0
                    and _turn(flat, b, c, p) >= 0
                    and _turn(flat, c, a, p) >= 0
                ):
                    is_free = False
                    break
            if is_free:
                ear = k
                break
        if ear < 0:  # crossing or flat: no ear is free, take any corner
            ear = 0
        triangles[t, 0], triangles[t, 1] = ring[left[(ear - 1) % n]], ring[left[ear]]
        triangles[t, 2] = ring[left[(ear + 1) % n]]
        owner[t] = face
        t += 1
        left[ear : n - 1] = left[ear + 1 : n].copy()
        n -= 1
    for k in range(3):
        triangles[t, k] = ring[left[k]]
    owner[t] = face
    return t + 1
