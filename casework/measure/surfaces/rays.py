"""Which triangle does a ray meet first, and how far away?

The ray is followed through the cells of the grid that nearest points are searched in, cell by
cell (J. Amanatides and A. Woo, A fast voxel traversal algorithm for ray tracing, Eurographics
1987), and set against the triangles of each (T. Möller and B. Trumbore, Fast, minimum storage
ray-triangle intersection, Journal of Graphics Tools 1997).
"""

import numpy as np

from casework.measure.jit import jit
from casework.measure.surfaces.nearest import Nearest

FRONT, BACK = -1, 1  # sign of the triangle's normal along the ray
START_MM = 1e-4  # what is nearer belongs to the place the ray starts from
EDGE = 1e-9  # share of a triangle: a ray through the common edge of two meets one of them


def first_hits(
    nearest: Nearest,
    origins: np.ndarray,
    directions: np.ndarray,
    side: int,
    reach_mm: float,
) -> tuple[np.ndarray, np.ndarray]:
    """Return how far (k,) rays go until they meet a triangle, and which (k,) int32.

    Origins (k, 3), directions (k, 3) of length one. Only triangles met on one side count: their
    FRONT, the outer side, or their BACK, from within. Beyond the reach: inf and -1. Hits within
    0.1 µm of the start are left out.
    """
    if side not in (FRONT, BACK):
        raise ValueError("a triangle has a front and a back")
    origins = np.ascontiguousarray(origins, np.float64)
    directions = np.ascontiguousarray(directions, np.float64)
    if not len(nearest.faces):
        return np.full(len(origins), np.inf), np.full(len(origins), -1, np.int32)
    return _first_hits(
        origins, directions, nearest.vertices, nearest.faces,
        nearest._low, nearest._cell, nearest._counts, nearest._starts, nearest._held,
        float(side), float(reach_mm),
    )  # fmt: skip


@jit
def _first_hits(
    origins, directions, vertices, faces, low, cell, counts, starts, held, side, reach
):
    total = len(origins)
    distance = np.full(total, np.inf)
    face = np.full(total, -1, np.int32)
    at, step = np.empty(3, np.int64), np.empty(3, np.int64)
    until, each = np.empty(3), np.empty(3)
    for p in range(total):
        start, end = _inside(origins, directions, p, low, cell, counts, reach)
        if not start <= end:
            continue
        for x in range(3):
            d = directions[p, x]
            place = (origins[p, x] + start * d - low[x]) / cell
            at[x] = min(max(np.int64(np.floor(place)), 0), counts[x] - 1)
            step[x] = 1 if d > 0 else -1
            if abs(d) < 1e-12:
                until[x], each[x] = np.inf, np.inf
            else:
                border = low[x] + (at[x] + (1 if d > 0 else 0)) * cell
                until[x], each[x] = (border - origins[p, x]) / d, cell / abs(d)
        best = end
        while True:
            c = (at[0] * counts[1] + at[1]) * counts[2] + at[2]
            for h in range(starts[c], starts[c + 1]):
                t = _meet(origins, directions, p, vertices, faces, held[h], side)
                if START_MM < t and (t < best or (t == best and held[h] < face[p])):
                    best, face[p] = t, held[h]
            x = 0
            if until[1] < until[x]:
                x = 1
            if until[2] < until[x]:
                x = 2
            if until[x] > best:
                break
            at[x] += step[x]
            until[x] += each[x]
            if at[x] < 0 or at[x] >= counts[x]:
                break
        if face[p] >= 0:
            distance[p] = best
    return distance, face


@jit
def _inside(origins, directions, p, low, cell, counts, reach):
    """From where to where the ray runs within the grid."""
    start, end = 0.0, reach
    for x in range(3):
        d, o = directions[p, x], origins[p, x]
        high = low[x] + counts[x] * cell
        if not abs(o) < 1e9:
            return 1.0, 0.0
        if abs(d) < 1e-12:
            if o < low[x] or o > high:
                return 1.0, 0.0
            continue
        one, two = (low[x] - o) / d, (high - o) / d
        start, end = max(start, min(one, two)), min(end, max(one, two))
    return start, end


@jit
def _meet(origins, directions, p, vertices, faces, f, side):
    """How far along the ray it meets face f on that side; -1 where it does not."""
    a, b, c = faces[f, 0], faces[f, 1], faces[f, 2]
    ax, ay, az = vertices[a, 0], vertices[a, 1], vertices[a, 2]
    ux, uy, uz = vertices[b, 0] - ax, vertices[b, 1] - ay, vertices[b, 2] - az
    vx, vy, vz = vertices[c, 0] - ax, vertices[c, 1] - ay, vertices[c, 2] - az
    dx, dy, dz = directions[p, 0], directions[p, 1], directions[p, 2]
    nx, ny, nz = uy * vz - uz * vy, uz * vx - ux * vz, ux * vy - uy * vx
    along = nx * dx + ny * dy + nz * dz
    if along * side <= 0:
        return -1.0
    ox, oy, oz = origins[p, 0] - ax, origins[p, 1] - ay, origins[p, 2] - az
    cx, cy, cz = oy * dz - oz * dy, oz * dx - ox * dz, ox * dy - oy * dx
    u = -(vx * cx + vy * cy + vz * cz) / along
    v = (ux * cx + uy * cy + uz * cz) / along
    if u < -EDGE or v < -EDGE or u + v > 1 + EDGE:
        return -1.0
    return -(ox * nx + oy * ny + oz * nz) / along
