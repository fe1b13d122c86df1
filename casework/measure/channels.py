"""Where does a screw channel run through a part, where does it come out, how thick is its wall?

The *bore* is what faces the axis of the channel and runs along it. The *outer wall* is what
faces away from the axis, within 60 degrees, and does not look into the bore, as a burr in it
does. The surface that the channel comes out through is no wall, and the rim itself no thin
place: what looks up by more than 30 degrees and hangs together with the rim, across edges of
less than 30 degrees, is left out; beside the rim and no more than 0.6 mm below it 15 degrees
are enough, for the end of a wall is rounded. Where a channel comes out through a surface
steeper than that, the wall does thin out to nothing there, and is said to. The wall is the
nearest distance between bore and outer wall.
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import connected_components

from casework.measure.surfaces.clouds import strewn
from casework.measure.surfaces.cylinder import cut_between, free_radius, radial_faces
from casework.measure.surfaces.nearest import Nearest
from casework.measure.surfaces.normals import face_areas, face_normals
from casework.measure.surfaces.poses import Pose
from casework.measure.surfaces.rays import FRONT, first_hits
from casework.measure.surfaces.touching import faces_across

OUTWARD = 0.5  # cosine: within 60 degrees of straight away from the axis, or toward it
ALONG = 0.26  # sine: a bore runs along its axis within 15 degrees
LOOKING_UP, ROUNDED = 0.5, 0.26  # sines: more than 30 degrees, at the rim more than 15
CREASE = np.cos(np.radians(30))
WIDEST_MM = 2.0  # radius; what is wider is the inside of a restoration
WIDENING_MM = 0.35  # so sudden, downwards, where a channel opens into such an inside
STEP_MM = 0.1
RIM_MM = 0.6  # around a bore and below its rim, the rounded rim and the surface next to it
CONNECTION_MM = 0.3  # up to here above the platform the connection's fillet may reach
REACH_MM = 4.0  # of thicker walls just that is told
SPACING_MM, MOST_CORNERS = 0.3, 600  # places on a bore, and corners of it beside them
BEST = 200  # places from which the least distance is followed to and fro
TURNS = 60
STILL_MM = 1e-7
SECTORS = 72
AROUND_MM = 1.5  # across the axis from the bore: the surface next to an exit


@dataclass(frozen=True, eq=False)
class Part:
    """A designed part by the name of its file: vertices (m, 3) in mm, faces (n, 3)."""

    name: str
    vertices: np.ndarray
    faces: np.ndarray


@dataclass(frozen=True, eq=False)
class Leg:
    """A straight stretch of a channel: its axis, and from which height to which it counts.

    Heights run along the axis of `pose`; those of a turned leg go on where the lower one ends.
    """

    pose: Pose
    low_mm: float
    high_mm: float


def legs_of(pose: Pose, bend_mm: float, channel_axis: np.ndarray | None = None) -> list[Leg]:
    """Return the legs of a channel: one along the implant, or another above a bend.

    `bend_mm`: height above the platform at which the channel turns into `channel_axis` (3,).
    """
    if channel_axis is None:
        return [Leg(pose, -np.inf, np.inf)]
    bend = pose.origin_mm + bend_mm * pose.axis
    turned = Pose.of(bend, channel_axis, pose.toward)
    turned = Pose.of(bend - bend_mm * turned.axis, turned.axis, turned.toward)
    return [Leg(pose, -np.inf, bend_mm), Leg(turned, bend_mm, np.inf)]


@dataclass(frozen=True, eq=False)
class Channel:
    """The bore of one leg in a part, and the outer wall around it, in the leg's coordinates.

    local (m, 3): vertices; bore, outer (k, 3): faces of them; exit_mm: height at which the axis
    comes out, None where the bore has no upper end; facing (3,): the way the surface looks
    there.
    """

    part: str
    leg: Leg
    local: np.ndarray
    bore: np.ndarray
    outer: np.ndarray
    exit_mm: float | None
    facing: np.ndarray

    @property
    def is_found(self) -> bool:
        return len(self.bore) > 0

    @cached_property
    def places(self) -> tuple[np.ndarray, np.ndarray]:
        """Places on the bore (k, 3), and their distances to the outer wall (k,)."""
        areas = face_areas(self.local, self.bore)
        count = int(areas.sum() / SPACING_MM**2) + 1
        between = strewn(self.local, self.bore, areas, count)[0]
        corners = np.unique(self.bore)
        corners = corners[:: len(corners) // MOST_CORNERS + 1]
        points = np.vstack([self.local[corners], between])
        return points, self.outside.closest(points).distance_mm

    @cached_property
    def outside(self):
        return Nearest(self.local, self.outer, REACH_MM)

    def wall(self) -> tuple[float, np.ndarray, np.ndarray] | None:
        """Return the least wall in mm, and its ends on bore and outer wall (3,), in the world.

        None where no outer wall lies within reach.
        """
        points, away = self.places
        if not np.isfinite(away).any():
            return None
        inside = Nearest(self.local, self.bore, REACH_MM)
        here = points[np.argsort(away, kind="stable")[:BEST]]
        least = np.inf
        for _ in range(TURNS):
            there = self.outside.closest(here)
            here = inside.closest(there.point_mm[there.is_found])
            before, least = least, here.distance_mm.min()
            at = int(np.argmin(here.distance_mm))
            ends = np.stack([here.point_mm[at], here.points[at]])
            here = here.point_mm
            if before - least < STILL_MM:
                break
        return float(least), *self.leg.pose.to_world(ends)

    def by_height(self, step_mm: float = 0.5) -> list[list[float]]:
        """Return [height, least wall] of each step of the channel that has one within reach."""
        points, away = self.places
        known = np.isfinite(away)
        level = np.floor(points[known, 2] / step_mm).astype(int)
        return [
            [round((one + 0.5) * step_mm, 3), float(away[known][level == one].min())]
            for one in np.unique(level)
        ]


def channel_of(part: Part, leg: Leg, from_mm: float) -> Channel:
    """Return the channel of a leg in a part, above a height along the leg."""
    low = max(from_mm, leg.low_mm)
    local, faces = cut_between(leg.pose.to_local(part.vertices), part.faces, low, leg.high_mm)
    radius, cosine = radial_faces(local, faces)
    normals = face_normals(local, faces)
    bore = (cosine < -OUTWARD) & (np.abs(normals[:, 2]) < ALONG) & (radius < WIDEST_MM)
    bore = _above_widening(local, faces, bore, leg.high_mm)
    top, height = _top(local, faces[bore])
    is_exit, around = _exit_surface(local, faces, normals, radius, bore, top)
    outer = (cosine > OUTWARD) & ~is_exit
    outer[outer] = ~_looks_at(local, faces[bore], faces[outer])
    facing = np.zeros(3)
    if around.any():
        weights = face_areas(local, faces[around])
        facing = leg.pose.rigid.rotation @ (weights @ normals[around])
    return Channel(part.name, leg, local, faces[bore], faces[outer], height, facing)


def _looks_at(local, bore, faces):
    """Which faces have the bore in front of them."""
    if not len(bore) or not len(faces):
        return np.zeros(len(faces), bool)
    middles, normals = local[faces].mean(axis=1), face_normals(local, faces)
    surface = Nearest(local, bore, WIDEST_MM)
    _, met = first_hits(surface, middles, normals, FRONT, 2 * WIDEST_MM)
    return met >= 0


def _above_widening(local, faces, bore, high):
    """Of the faces of a bore those above the place where it opens into a wider inside."""
    if not bore.any():
        return bore
    heights = local[:, 2][faces[bore]]
    low, high = heights.min(), min(heights.max(), high)
    levels = np.arange(high, low, -STEP_MM)
    free = free_radius(
        local, faces[bore], np.column_stack([levels - STEP_MM, levels])
    ).radius_mm
    wider = np.flatnonzero(np.diff(free) > WIDENING_MM)
    if not len(wider):
        return bore
    limit = levels[wider[0]] - STEP_MM
    kept = bore.copy()
    kept[bore] = heights.mean(axis=1) > limit
    return kept


def _top(local, bore):
    """The upper end of a bore around the turn (SECTORS,), nan where open, and on its axis."""
    top = np.full(SECTORS, -np.inf)
    if not len(bore):
        return np.full(SECTORS, np.nan), None
    corners = local[np.unique(bore)]
    np.maximum.at(top, _sector(corners), corners[:, 2])
    top[~np.isfinite(top)] = np.nan
    return top, float(np.nanmean(top))


def _sector(points):
    turn = np.arctan2(points[:, 1], points[:, 0]) / (2 * np.pi) + 0.5
    return np.minimum((turn * SECTORS).astype(int), SECTORS - 1)


def _exit_surface(local, faces, normals, radius, bore, top):
    """Which faces the channel comes out through, and which of them lie around its rim."""
    nothing = np.zeros(len(faces), bool)
    if not bore.any():
        return nothing, nothing
    middles = local[faces].mean(axis=1)
    known = np.flatnonzero(np.isfinite(top))
    rim = np.interp(_sector(middles), known, top[known], period=SECTORS)
    reach = np.median(np.hypot(*local[np.unique(faces[bore])][:, :2].T))
    highest = local[:, 2][faces].max(axis=1)
    is_high = highest > rim - RIM_MM
    seeds = is_high & (radius < reach + RIM_MM) & (normals[:, 2] > LOOKING_UP)
    is_near = is_high & (radius < reach + AROUND_MM) & ~bore
    is_up = (normals[:, 2] > LOOKING_UP) | (is_near & (normals[:, 2] > ROUNDED))
    across = faces_across(faces, len(local))
    mine, side = np.nonzero((across >= 0) & is_up[:, None])
    other = across[mine, side]
    joined = is_up[other] & (np.einsum("ij,ij->i", normals[mine], normals[other]) > CREASE)
    links = coo_matrix(
        (np.ones(joined.sum(), np.int8), (mine[joined], other[joined])), (len(faces),) * 2
    )
    piece = connected_components(links, directed=False)[1]
    is_exit = is_up & np.isin(piece, np.unique(piece[seeds]))
    around = is_near & is_exit
    return is_exit, around if around.any() else is_near & (normals[:, 2] > 0)
