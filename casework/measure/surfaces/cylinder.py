"""How far from an axis does a surface lie, and what of it lies close around the axis?

Everything is asked in coordinates whose z axis is the axis, as `Pose.to_local` gives them. No
ray is cast: each triangle is cut to the stretch of the axis asked about and its distance from
the axis is that of a flat polygon from a point, in closed form.
"""

from dataclasses import dataclass

import numpy as np

from casework.measure.jit import jit
from casework.measure.surfaces.normals import contiguous


@dataclass(frozen=True, eq=False)
class Free:
    """What lies nearest to the axis in each of k stretches of it.

    radius_mm (k,), inf where the stretch is empty, 0 where the axis is pierced; place_mm (k, 3)
    on the surface, in the coordinates of the axis; face (k,), -1 where the stretch is empty.
    """

    radius_mm: np.ndarray
    place_mm: np.ndarray
    face: np.ndarray

    @property
    def least(self) -> int:
        """The stretch in which the surface comes nearest to the axis."""
        return int(np.argmin(self.radius_mm))


def free_radius(local: np.ndarray, faces: np.ndarray, stretches_mm) -> Free:
    """Return how near to the axis the surface comes in stretches (k, 2) of it, from and to.

    Vertices (m, 3) are in the coordinates of the axis, faces (n, 3). Exact for the triangles as
    they are.
    """
    stretches = np.asarray(stretches_mm, np.float64).reshape(-1, 2)
    order = np.argsort(stretches[:, 0], kind="stable")
    stretches = np.ascontiguousarray(stretches[order])
    found = _free(*contiguous(local, faces), stretches, np.maximum.accumulate(stretches[:, 1]))
    back = np.argsort(order)
    return Free(*(one[back] for one in found))


def highest_within(
    local: np.ndarray, faces: np.ndarray, radius_mm: float
) -> tuple[float, np.ndarray, int] | None:
    """Return the greatest height of the surface nearer to the axis than a radius, where, which.

    What only touches the radius is outside. None where nothing lies within.
    """
    local, faces = contiguous(local, faces)
    height, place, face = _highest(local, faces, float(radius_mm))
    return None if face < 0 else (float(height), place, int(face))


def lowest_within(
    local: np.ndarray, faces: np.ndarray, radius_mm: float
) -> tuple[float, np.ndarray, int] | None:
    """Return the least height of the surface nearer to the axis than a radius; see above."""
    found = highest_within(local * [1.0, 1.0, -1.0], faces, radius_mm)
    return None if found is None else (-found[0], found[1] * [1.0, 1.0, -1.0], found[2])


def radial_faces(local: np.ndarray, faces: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Return how near to the axis each face comes (n,), and where it faces there (n,).

    The second is the cosine between the face's normal and the direction away from the axis at
    the face's nearest point: 1 turned straight away from it, -1 straight toward it.
    """
    return _radial(*contiguous(local, faces))


def faces_near(local: np.ndarray, faces: np.ndarray, radius_mm: float) -> np.ndarray:
    """Return which faces (n,) may come nearer to the axis than a radius; none is missed."""
    return _near(*contiguous(local, faces), float(radius_mm))


def cut_between(
    local: np.ndarray, faces: np.ndarray, low_mm: float, high_mm: float = np.inf
) -> tuple[np.ndarray, np.ndarray]:
    """Return vertices, faces of what lies between two heights; triangles are cut there.

    Corners of cut triangles are new vertices at the end; the others keep their numbers.
    """
    local, faces = contiguous(local, faces)
    is_whole, is_cut = _between(local, faces, float(low_mm), float(high_mm))
    corners = _cut(local, faces[is_cut], float(low_mm), float(high_mm))
    added = np.arange(len(corners) * 3, dtype=np.int32).reshape(-1, 3) + len(local)
    return np.vstack([local, corners.reshape(-1, 3)]), np.vstack([faces[is_whole], added])


@jit
def _free(local, faces, stretches, reached):
    """Of stretches in the order of their lower ends; none up to k ends above reached[k]."""
    count = len(stretches)
    radius, face = np.full(count, np.inf), np.full(count, -1, np.int32)
    place = np.zeros((count, 3))
    one, two, near = np.empty((8, 3)), np.empty((8, 3)), np.empty(3)
    whole_near = np.empty(3)
    for f in range(len(faces)):
        low, high = np.inf, -np.inf
        for k in range(3):
            height = local[faces[f, k], 2]
            low, high = min(low, height), max(high, height)
        nearest, is_exact = _at_least(local, faces, f), False
        for s in range(np.searchsorted(reached, low), count):
            if high < stretches[s, 0]:
                break
            if low > stretches[s, 1] or nearest >= radius[s]:
                continue
            if not is_exact:
                _corners(local, faces, f, one)
                nearest, is_exact = _from_axis(one, 3, whole_near), True
                if nearest >= radius[s]:
                    continue
            if stretches[s, 0] <= whole_near[2] <= stretches[s, 1]:
                radius[s], face[s] = nearest, f
                place[s, :] = whole_near
                continue
            corners = 3
            _corners(local, faces, f, one)
            if low < stretches[s, 0]:
                corners = _clipped(one, corners, two, stretches[s, 0], 1.0)
                one, two = two, one
            if high > stretches[s, 1]:
                corners = _clipped(one, corners, two, stretches[s, 1], -1.0)
                one, two = two, one
            away = _from_axis(one, corners, near)
            if away < radius[s]:
                radius[s], face[s] = away, f
                place[s, :] = near
    return radius, place, face


@jit
def _corners(local, faces, f, into):
    for k in range(3):
        for j in range(3):
            into[k, j] = local[faces[f, k], j]


@jit
def _at_least(local, faces, f):
    """A distance from the axis that no point of a face is below."""
    x = y = reach = 0.0
    for k in range(3):
        x += local[faces[f, k], 0] / 3
        y += local[faces[f, k], 1] / 3
    for k in range(3):
        v = faces[f, k]
        reach = max(reach, (local[v, 0] - x) ** 2 + (local[v, 1] - y) ** 2)
    return np.sqrt(x * x + y * y) - np.sqrt(reach)


@jit
def _near(local, faces, radius):
    near = np.empty(len(faces), np.bool_)
    for f in range(len(faces)):
        near[f] = _at_least(local, faces, f) < radius
    return near


@jit
def _between(local, faces, low, high):
    """Which faces lie between two heights, and which of the others partly do."""
    is_whole, is_cut = np.empty(len(faces), np.bool_), np.empty(len(faces), np.bool_)
    for f in range(len(faces)):
        a, b, c = local[faces[f, 0], 2], local[faces[f, 1], 2], local[faces[f, 2], 2]
        least, most = min(a, b, c), max(a, b, c)
        is_whole[f] = least >= low and most <= high
        is_cut[f] = not is_whole[f] and most > low and least < high
    return is_whole, is_cut


@jit
def _cut(local, faces, low, high):
    """The triangles (k, 3, 3) that fans of the cut faces fall into."""
    found, count = np.empty((3 * len(faces), 3, 3)), 0
    one, two = np.empty((8, 3)), np.empty((8, 3))
    for f in range(len(faces)):
        for k in range(3):
            one[k, :] = local[faces[f, k]]
        corners = _clipped(one, 3, two, low, 1.0)
        corners = _clipped(two, corners, one, high, -1.0)
        for k in range(1, corners - 1):
            found[count, 0, :] = one[0]
            found[count, 1, :] = one[k]
            found[count, 2, :] = one[k + 1]
            count += 1
    return found[:count]


@jit
def _clipped(polygon, corners, into, height, sign):
    """Keep what lies above (sign 1) or below (-1) a height; returns the number of corners."""
    count = 0
    for k in range(corners):
        n = (k + 1) % corners
        here, there = sign * (polygon[k, 2] - height), sign * (polygon[n, 2] - height)
        if here >= 0:
            into[count, :] = polygon[k]
            count += 1
        if (here > 0 and there < 0) or (here < 0 and there > 0):
            share = here / (here - there)
            for j in range(2):
                into[count, j] = polygon[k, j] + share * (polygon[n, j] - polygon[k, j])
            into[count, 2] = height
            count += 1
    return count


@jit
def _from_axis(polygon, corners, near):
    """Distance of a flat polygon from the z axis; its nearest point into `near`."""
    best = np.inf
    turning, is_around = 0.0, corners > 2
    area = 0.0
    for k in range(corners):
        n = (k + 1) % corners
        ax, ay = polygon[k, 0], polygon[k, 1]
        ux, uy = polygon[n, 0] - ax, polygon[n, 1] - ay
        length = ux * ux + uy * uy
        share = 0.0
        if length > 0:
            share = min(max(-(ax * ux + ay * uy) / length, 0.0), 1.0)
        x, y = ax + share * ux, ay + share * uy
        away = x * x + y * y
        if away < best:
            best = away
            near[0], near[1] = x, y
            near[2] = polygon[k, 2] + share * (polygon[n, 2] - polygon[k, 2])
        side = ax * uy - ay * ux
        area += side
        if side * turning < 0:
            is_around = False
        if side != 0:
            turning = side
    if is_around and area != 0.0 and best > 0.0:
        near[2] = _height_at_axis(polygon, corners)
        near[0] = near[1] = best = 0.0
    return np.sqrt(best)


@jit
def _height_at_axis(polygon, corners):
    """Height at which the z axis passes through a flat polygon that lies around it."""
    most, height = 0.0, polygon[0, 2]
    ax, ay, az = polygon[0, 0], polygon[0, 1], polygon[0, 2]
    for k in range(1, corners - 1):
        ux, uy, uz = polygon[k, 0] - ax, polygon[k, 1] - ay, polygon[k, 2] - az
        vx, vy, vz = polygon[k + 1, 0] - ax, polygon[k + 1, 1] - ay, polygon[k + 1, 2] - az
        nz = ux * vy - uy * vx
        if abs(nz) > most:  # the largest part of the polygon gives its plane most surely
            most = abs(nz)
            height = az + (ax * (uy * vz - uz * vy) + ay * (uz * vx - ux * vz)) / nz
    return height


@jit
def _highest(local, faces, radius):
    best, face = -np.inf, -1
    place = np.zeros(3)
    square = radius * radius
    for f in range(len(faces)):
        a, b, c = faces[f, 0], faces[f, 1], faces[f, 2]
        if max(local[a, 2], local[b, 2], local[c, 2]) <= best:
            continue
        for k in range(3):
            i, j = faces[f, k], faces[f, (k + 1) % 3]
            ux, uy, uz = _side(local, i, j)
            start, end = _inside(local[i, 0], local[i, 1], ux, uy, square)
            if not start < end:
                continue
            share = end if uz > 0 else start
            if local[i, 2] + share * uz > best:
                best, face = local[i, 2] + share * uz, f
                place[0] = local[i, 0] + share * ux
                place[1] = local[i, 1] + share * uy
        # The highest place of the whole plane within the radius, if the triangle holds it.
        ux, uy, uz = _side(local, a, b)
        vx, vy, vz = _side(local, a, c)
        nx, ny, nz = uy * vz - uz * vy, uz * vx - ux * vz, ux * vy - uy * vx
        if nz == 0.0:
            continue
        gx, gy = -nx / nz, -ny / nz
        steep = np.sqrt(gx * gx + gy * gy)
        x = y = 0.0
        if steep > 0:
            x, y = radius * gx / steep, radius * gy / steep
        px, py = x - local[a, 0], y - local[a, 1]
        s, t = (px * vy - py * vx) / nz, (ux * py - uy * px) / nz
        if s >= 0 and t >= 0 and s + t <= 1 and local[a, 2] + s * uz + t * vz > best:
            best, face = local[a, 2] + s * uz + t * vz, f
            place[0], place[1] = x, y
    place[2] = best
    return best, place, face


@jit
def _side(points, i, j):
    return (
        points[j, 0] - points[i, 0],
        points[j, 1] - points[i, 1],
        points[j, 2] - points[i, 2],
    )


@jit
def _inside(x, y, ux, uy, square):
    """From which to which share an edge runs inside a circle around the axis."""
    length, along, rest = ux * ux + uy * uy, x * ux + y * uy, x * x + y * y - square
    if length == 0.0:
        return (0.0, 1.0) if rest < 0 else (1.0, 0.0)
    root = along * along - length * rest
    if root <= 0:
        return 1.0, 0.0
    root = np.sqrt(root)
    return max((-along - root) / length, 0.0), min((-along + root) / length, 1.0)


@jit
def _radial(local, faces):
    count = len(faces)
    radius, cosine = np.empty(count), np.zeros(count)
    corner, near = np.empty((8, 3)), np.empty(3)
    for f in range(count):
        _corners(local, faces, f, corner)
        radius[f] = _from_axis(corner, 3, near)
        ux, uy, uz = _side(corner, 0, 1)
        vx, vy, vz = _side(corner, 0, 2)
        nx, ny, nz = uy * vz - uz * vy, uz * vx - ux * vz, ux * vy - uy * vx
        length = np.sqrt(nx * nx + ny * ny + nz * nz)
        if length > 0 and radius[f] > 0:
            cosine[f] = (nx * near[0] + ny * near[1]) / (length * radius[f])
    return radius, cosine
