"""Which way up does an abutment stand, where is its edge, and what lies above and below it?"""

from dataclasses import dataclass, replace

import numpy as np

from casework.measure.post_axis import bore_of, centre_of, settled_axis, wall_direction
from casework.measure.ridge import Ridge, ridge_of
from casework.measure.surfaces.half_planes import sections_around
from casework.measure.surfaces.nearest import Nearest
from casework.measure.surfaces.normals import face_areas
from casework.measure.surfaces.pieces import LEAST_SHARE, piece_of_faces
from casework.measure.surfaces.poses import Pose

OTHER, EMERGENCE, SHOULDER, WALL, TOP, BORE = range(6)

HALF_PLANES = 180
LEAST_RING = 0.8  # of the half planes must show an edge, or there is no closed margin
KNIFE_SHARE = 0.5  # of them with a shoulder: below, the margin is a knife edge
ROUNDS = 3  # axis and margin are found in turn; the second round moves less than 1 µm
REACH_MM = 1.0  # of the grid
LATERAL = 0.5  # sine of the elevation of a wall: 30 degrees
RIDGE = 0.42  # sine of the elevation between emergence and shoulder: 25 degrees
BESIDE_MM = 0.1
LOWER_WEIGHT = 0.2  # of walls in the lower half of an abutment on its implant
LONG_RATIO = 1.25  # a post so much longer than what lies beyond the margin is the upper end
CLEAR_RATIO = 1.05  # with no bore to tell; below, nothing tells
LEAST_WIDENING_MM = 0.1


@dataclass(frozen=True, eq=False)
class Body:
    """The faces of an abutment that count, and which of them lie in a bore."""

    nearest: Nearest
    areas: np.ndarray
    is_outer: np.ndarray
    is_bore: np.ndarray
    middles: np.ndarray

    @classmethod
    def of(cls, nearest):
        if not len(nearest.faces):
            return None
        areas = face_areas(nearest.vertices, nearest.faces)
        if not areas.sum() > 0:
            return None
        piece = piece_of_faces(nearest.faces, len(nearest.vertices))
        sizes = np.bincount(piece, areas)
        counts = (sizes >= LEAST_SHARE * sizes.sum())[piece]
        bore = bore_of(nearest, areas) & counts
        middles = nearest.vertices[nearest.faces].mean(axis=1)
        return cls(nearest, areas, counts & ~bore, bore, middles)

    @property
    def normals(self):
        return self.nearest.face_normals


@dataclass(frozen=True, eq=False)
class Reading:
    """One reading of an abutment: which way is up, and what follows."""

    pose: Pose
    ridge: Ridge
    wall: np.ndarray  # (n,) bool

    @property
    def share(self):
        return float(self.ridge.is_found.mean())

    @property
    def height_mm(self):
        if not self.ridge.is_found.any():
            return 0.0
        return float(np.nanmedian(self.ridge.top_mm - self.ridge.height_mm))


def first_axis(body, implant):
    """The direction of the outer walls; of an abutment on an implant, of the upper ones."""
    outer = body.is_outer
    weights = body.areas[outer]
    if implant is None:
        return wall_direction(body.normals[outer], weights)
    height = (body.middles[outer] - implant.origin_mm) @ implant.axis
    upper = height > np.quantile(height, 0.5)
    shares = np.where(height > 0, np.where(upper, 1.0, LOWER_WEIGHT), 0.0)
    # An abutment wholly below the platform stands in another frame; its walls remain its walls.
    weights = weights * shares if shares.any() else weights
    return wall_direction(body.normals[outer], weights, implant.axis)


def read(body, axis, is_axis_told):
    """Find ridge and wall around an axis, and the axis again from that wall."""
    corners = body.nearest.faces[body.is_outer]
    wall = body.is_outer & (np.abs(body.normals @ axis) < LATERAL)
    height = body.middles @ axis
    low, high = height[body.is_outer].min(), height[body.is_outer].max()
    upper = wall & (height > (low + high) / 2)
    wall = next((one for one in (upper, wall) if one.any()), body.is_outer)
    for turn in range(ROUNDS):
        if turn and not is_axis_told:
            better = settled_axis(body.normals[wall], body.areas[wall], axis)
            axis = axis if better is None else better
        points = body.nearest.vertices[body.nearest.faces[wall]].reshape(-1, 3)
        pose = Pose.of(centre_of(points, axis), axis)
        local = pose.to_local(body.nearest.vertices)
        sections = sections_around(local, corners, HALF_PLANES)
        used = local[corners.reshape(-1), 2]
        ridge = ridge_of(sections, used.min(), used.max())
        found = Reading(pose, ridge, wall)
        if found.share < LEAST_RING:
            return found
        part = parts_of(body, pose, ridge)
        if not (part == WALL).any():
            return found
        wall = part == WALL
    return replace(found, wall=wall)


def upper_of(body, tries):
    """The reading the right way up: the longer post, else the end where the bore is wider."""
    tries = sorted(tries, key=lambda one: (one.share >= LEAST_RING, one.height_mm))
    if len(tries) == 1 or tries[0].share < LEAST_RING:
        return tries[-1]
    low, high = tries
    if high.height_mm > LONG_RATIO * low.height_mm:
        return high
    widening = _bore_widening(body, high.pose)
    if abs(widening) > LEAST_WIDENING_MM:
        return high if widening > 0 else low
    return high if high.height_mm > CLEAR_RATIO * low.height_mm else None


def _bore_widening(body, pose):
    """How much wider the bore is in its upper third than in its lower, in mm."""
    if not body.is_bore.any():
        return 0.0
    local = pose.to_local(body.middles[body.is_bore])
    low, high = np.quantile(local[:, 2], [0.25, 0.75])
    radius = np.hypot(local[:, 0], local[:, 1])
    ends = radius[local[:, 2] >= high], radius[local[:, 2] <= low]
    return float(np.median(ends[0]) - np.median(ends[1]))


def parts_of(body, pose, ridge):
    """Sort the faces by the ridge."""
    local = pose.to_local(body.middles)
    rising = body.normals @ pose.axis
    turn = np.arctan2(local[:, 1], local[:, 0])
    radius = np.hypot(local[:, 0], local[:, 1])
    edge_height, edge_radius, top, foot = (
        around(values, turn)
        for values in (
            ridge.height_mm, ridge.radius_mm, ridge.top_mm, ridge.foot_height_mm,
        )
    )  # fmt: skip
    over = local[:, 2] - edge_height
    is_above = over > BESIDE_MM
    is_beside = np.abs(over) <= 4 * BESIDE_MM
    # At the height of the edge itself, or in a dished shoulder below it, what lies farther in
    # or looks up belongs to the shoulder.
    is_in = (radius < edge_radius - BESIDE_MM) & (rising > -RIDGE)
    is_above |= is_beside & ((rising > RIDGE) | is_in)
    part = np.where(is_above, WALL, EMERGENCE).astype(np.uint8)
    looks_up = rising > LATERAL
    is_high = local[:, 2] > (np.maximum(foot, edge_height) + top) / 2
    part[is_above & looks_up & is_high] = TOP
    part[is_above & ~is_high & (looks_up | (local[:, 2] < foot - BESIDE_MM / 2))] = SHOULDER
    part[~body.is_outer] = OTHER
    part[body.is_bore] = BORE
    return part


def parts_without_margin(body, one):
    """Wall, top and bore, as far as they show without a margin."""
    part = np.full(len(body.areas), OTHER, np.uint8)
    height = one.pose.to_local(body.middles)[:, 2]
    is_top = body.is_outer & (body.normals @ one.pose.axis > LATERAL) & (height > 0)
    part[is_top], part[one.wall], part[body.is_bore] = TOP, WALL, BORE
    return part


def around(values, turn):
    """Values of the half planes at any turn, linear between those that are known."""
    known = np.flatnonzero(np.isfinite(values))
    count = len(values)
    at = np.mod(turn, 2 * np.pi) * count / (2 * np.pi)
    return np.interp(at, known, values[known], period=count)
