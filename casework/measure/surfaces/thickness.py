"""How thick is a body between two of its surfaces, or at a place of its own surface?

Two definitions are used, and they differ. The *nearest distance* from an inner surface to an
outer one is the shortest way through the material; it is never longer than any other reading,
so it is the safe one. The *local thickness* at a place is the chord of the largest ball that
touches the surface there from within (M. Ma, S. Bae and S. Choi, 3D medial axis point
approximation using nearest neighbors and the normal field, The Visual Computer 2012, by the
same shrinking of a ball); it needs no telling which surface is inner.
"""

from collections.abc import Callable

import numpy as np
from scipy.spatial import cKDTree

from casework.measure.surfaces.nearest import Closest, Nearest
from casework.measure.surfaces.places import SPACING_MM, Places
from casework.measure.surfaces.rays import BACK, first_hits

GRID = 6  # steps to each side when a triangle is searched more finely
ROUNDS = 6  # of that search: each is 4 times finer
NEAREST_FACES = 6  # so many triangles may hold the least place
FIRST_SHARE = 12  # one place in so many gives a first bound for the others
SHRINKINGS = 12
RADIUS_GROUPS = 6  # of balls of about one size: the search around a centre costs by its reach
STILL = 1e-3  # a ball that shrinks by less than this share has settled
OPPOSITE = -0.7  # cosine of the normals of two sides of a wall: within 45 degrees; else an edge


def least_of_groups(
    places: Places,
    group_of: Callable[[Closest], np.ndarray],
    surface: Nearest,
    groups: int,
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Return, for each group of places, the least distance to a surface, from where to where.

    `group_of` says the group (k,) of places from what is nearest to them, -1 for none. Returned
    are (groups,) distances in mm, inf where nothing is in reach, and (groups, 3) the place and
    the point of the surface. Around the least places the surface is searched more finely, so
    the distance is exact to about 0.1 µm, and to some µm where a group ends at the least.
    """
    best = np.full(groups, np.inf)
    place, other = np.full((groups, 3), np.nan), np.full((groups, 3), np.nan)
    few = np.arange(0, len(places.face), FIRST_SHARE)
    found = surface.closest(places.point_mm[few])
    group = group_of(found)
    for one in range(groups):
        best[one] = found.distance_mm[group == one].min(initial=np.inf)
    bound = min(best.max() * (1 + 1e-9), surface.reach_mm)
    some = _within(bound, places.point_mm, found)
    found = surface.closest(places.point_mm[some], bound)
    group = group_of(found)
    best[:] = np.inf
    for one in range(groups):
        mine = np.flatnonzero((group == one) & found.is_found)
        order = some[mine[np.argsort(found.distance_mm[mine], kind="stable")]]
        _, first = np.unique(places.face[order[: 4 * NEAREST_FACES]], return_index=True)
        for at in order[np.sort(first)[:NEAREST_FACES]]:
            away, here, there = _least_around(places, at, surface, group_of, one)
            if away < best[one]:
                best[one], place[one], other[one] = away, here, there
    return best, place, other


def _within(bound, points, few):
    """Which points may be nearer than a bound, by what is known of a few of them.

    A distance changes by no more than the way from one point to another.
    """
    if not len(points):
        return np.arange(0)
    known = np.where(few.is_found, few.distance_mm, few.surface.reach_mm)
    away, beside = cKDTree(few.points).query(points)
    return np.flatnonzero(known[beside] - away <= bound)


def _least_around(places, at, surface, group_of, group):
    """The least distance of a group around one place on its triangle, between which points."""
    point = places.point_mm[at]
    corners = places.surface.vertices[places.surface.faces[places.face[at]]]
    sides = corners[1:] - corners[0]
    middle = np.linalg.lstsq(sides.T, point - corners[0], rcond=None)[0]
    longest = np.linalg.norm(sides, axis=1).max()
    step = min(SPACING_MM / max(longest, 1e-9), 1.0) / GRID
    offset = np.arange(-GRID, GRID + 1)
    u, v = (one.ravel() for one in np.meshgrid(offset, offset))
    best = (np.inf, point, point)
    for _ in range(ROUNDS):
        two = np.maximum(middle + step * np.column_stack([u, v]), 0.0)
        two /= np.maximum(two.sum(axis=1), 1.0)[:, None]
        found = surface.closest(corners[0] + two @ sides)
        is_one = group_of(found) == group
        if not is_one.any():
            break
        k = int(np.argmin(np.where(is_one, found.distance_mm, np.inf)))
        if found.distance_mm[k] < best[0]:
            best = (found.distance_mm[k], found.points[k], found.point_mm[k])
        middle, step = two[k], step / 4
    return best


def local_thickness(
    nearest: Nearest, points: np.ndarray, normals: np.ndarray, reach_mm: float
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Return the local thickness (k,) at places of a surface, where it ends, on which face.

    points (k, 3) with outer normals (k, 3). nan, and face -1, where the ball touches an edge
    and not an opposite side, or where the part is thicker than the reach: there the end is nan
    too. The grid of `nearest` must reach half as far.
    """
    across, met = first_hits(nearest, points, -normals, BACK, reach_mm)
    radius = np.where(met >= 0, across / 2, reach_mm / 2)
    touch, face = np.full_like(points, np.nan), met.copy()
    touch[met >= 0] = (points - normals * np.where(met >= 0, across, 0.0)[:, None])[met >= 0]
    active = np.arange(len(points))
    for _ in range(SHRINKINGS):
        if not len(active):
            break
        active = active[np.argsort(radius[active], kind="stable")]
        active = np.concatenate([
            _shrunk(nearest, points, normals, radius, touch, face, some)
            for some in np.array_split(active, RADIUS_GROUPS)
        ])  # fmt: skip
    is_wall = face >= 0
    is_wall &= np.einsum("ij,ij->i", normals, nearest.face_normals[face]) < OPPOSITE
    thickness = np.where(is_wall, np.linalg.norm(points - touch, axis=1), np.nan)
    return thickness, touch, np.where(is_wall, face, -1)


def _shrunk(nearest, points, normals, radius, touch, face, some):
    """Shrink the balls at some places to what they hold; return where something was held."""
    if not len(some):
        return some
    size = radius[some]
    # What is nearer to the centre than this would be inside the ball, and not its own place.
    found = nearest.closest(points[some] - normals[some] * size[:, None], float(size.max()))
    away = points[some] - found.point_mm
    square = np.einsum("ij,ij->i", away, away)
    along = np.einsum("ij,ij->i", away, normals[some])
    is_held = found.is_found & (found.distance_mm < size * (1 - STILL))
    is_held &= (along > 1e-9) & (square > 1e-12)
    held = some[is_held]
    touch[held], face[held] = found.point_mm[is_held], found.face[is_held]
    radius[held] = square[is_held] / (2 * along[is_held])
    return held


def least_local(
    places: Places, group: np.ndarray, reach_mm: float, groups: int
) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """Return, for each group of places, the least local thickness, where, to where, which face.

    (groups,) in mm, inf where there is none within the reach; last, bool, whether that is so
    because the part is thicker than the reach at some place of the group.
    """
    best, other_face = np.full(groups, np.inf), np.full(groups, -1, np.int32)
    place, other = np.full((groups, 3), np.nan), np.full((groups, 3), np.nan)
    is_thicker = np.zeros(groups, bool)
    for one in range(groups):
        mine = np.flatnonzero(group == one)
        # A chord between sides within 45 degrees of opposite is at least 1.8 radii long, so a
        # first bound says how large the balls of the others need be.
        bound = reach_mm
        for asked in (mine[::FIRST_SHARE], mine):
            thickness, touch, face = local_thickness(
                places.surface, places.point_mm[asked], places.normal[asked], bound
            )
            if np.isfinite(thickness).any():
                at = int(np.nanargmin(thickness))
                best[one], other_face[one] = thickness[at], face[at]
                place[one], other[one] = places.point_mm[asked[at]], touch[at]
                bound = min(2 / 1.8 * thickness[at] * (1 + 1e-9), reach_mm)
        is_thicker[one] = not np.isfinite(best[one]) and np.isnan(touch[:, 0]).any()
    return best, place, other, other_face, is_thicker
