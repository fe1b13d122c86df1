"""How thick is a body between two of its surfaces, or at a place of its own surface?

Two definitions are used, and they differ. The *nearest distance* from an inner surface to an
outer one is the shortest way through the material; it is never longer than any other reading,
so it is the safe one. The *local thickness* at a place is the chord of the largest ball that
touches the surface there from within (M. Ma, S. Bae and S. Choi, 3D medial axis point
approximation using nearest neighbors and the normal field, The Visual Computer 2012, by the
same shrinking of a ball); it needs no telling which surface is inner.
"""

import numpy as np

from casework.measure.surfaces.nearest import Nearest
from casework.measure.surfaces.places import Places
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
    places: Places, group: np.ndarray, surface: Nearest, groups: int
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Return, for each group of places, the least distance to a surface, from where to where.

    (groups,) distance in mm, inf where nothing is in reach; (groups, 3) the place and the point
    of the surface. Exact to about 0.1 µm: the triangle of the place is searched more finely.
    """
    best = np.full(groups, np.inf)
    place, other = np.full((groups, 3), np.nan), np.full((groups, 3), np.nan)
    for one in range(groups):
        mine = np.flatnonzero(group == one)
        # A first bound keeps the search around the other places short.
        first = surface.closest(places.point_mm[mine[::FIRST_SHARE]])
        bound = min(first.distance_mm.min(initial=np.inf) * (1 + 1e-9), surface.reach_mm)
        found = surface.closest(places.point_mm[mine], bound)
        order = np.argsort(found.distance_mm, kind="stable")
        if not len(order) or not found.is_found[order[0]]:
            continue
        faces = places.face[mine[order[: 4 * NEAREST_FACES]]]
        for face in list(dict.fromkeys(faces.tolist()))[:NEAREST_FACES]:
            corners = places.surface.vertices[places.surface.faces[face]]
            away, here, there = _least_of(corners, surface)
            if away < best[one]:
                best[one], place[one], other[one] = away, here, there
    return best, place, other


def _least_of(corners, surface):
    """The least distance of one triangle's places, between which points."""
    middle, step = np.full(3, 1 / 3), 1 / GRID
    offset = np.arange(-GRID, GRID + 1)
    u, v = (one.ravel() for one in np.meshgrid(offset, offset))
    best = (np.inf, corners.mean(axis=0), corners.mean(axis=0))
    for _ in range(ROUNDS):
        shares = np.maximum(middle + step * np.column_stack([u, v, -u - v]), 0.0)
        shares /= shares.sum(axis=1)[:, None]
        found = surface.closest(shares @ corners)
        at = int(np.argmin(found.distance_mm))
        if found.distance_mm[at] < best[0]:
            best = (found.distance_mm[at], found.points[at], found.point_mm[at])
        middle, step = shares[at], step / 4
    return best


def local_thickness(
    nearest: Nearest, points: np.ndarray, normals: np.ndarray, reach_mm: float
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Return the local thickness (k,) at places of a surface, where it ends, on which face.

    points (k, 3) with outer normals (k, 3). nan, and face -1, where the ball touches an edge
    and not an opposite side, or where the part is thicker than the reach; the grid of `nearest`
    must reach half as far.
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
) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """Return, for each group of places, the least local thickness, where, to where, which face.

    (groups,) in mm, inf where there is none within the reach.
    """
    best, other_face = np.full(groups, np.inf), np.full(groups, -1, np.int32)
    place, other = np.full((groups, 3), np.nan), np.full((groups, 3), np.nan)
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
    return best, place, other, other_face
