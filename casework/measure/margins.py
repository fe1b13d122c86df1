"""Which part of an abutment is its post, shoulder, emergence and bore, and where is its margin?

Everything is read from the surface itself: no end of the part, no axis of the file and no
reference frame is taken for granted. What the set of the case tells (the implant's pose, the
post's axis, the margin) is used instead where it is given, and said to be told.
"""

from dataclasses import dataclass, replace

import numpy as np

from casework.measure.post_axis import bore_of, centre_of, settled_axis, wall_direction
from casework.measure.results import Measured, Quantity
from casework.measure.ridge import Ridge, ridge_of
from casework.measure.surfaces.half_planes import sections_around
from casework.measure.surfaces.nearest import Nearest
from casework.measure.surfaces.normals import face_areas
from casework.measure.surfaces.pieces import LEAST_SHARE, piece_of_faces
from casework.measure.surfaces.poses import Pose

OTHER, EMERGENCE, SHOULDER, WALL, TOP, BORE = range(6)
PART_NAMES = ("other", "emergence", "shoulder", "wall", "top", "bore")

HALF_PLANES = 180
LEAST_RING = 0.8  # of the half planes must show an edge, or there is no closed margin
KNIFE_SHARE = 0.5  # of them with a shoulder: below, the margin is a knife edge
ROUNDS = 3  # axis and margin are found in turn; the second round moves less than 1 µm
REACH_MM = 1.0  # of the grid
LATERAL = 0.5  # sine of the elevation of a wall: 30 degrees
RIDGE = 0.42  # sine of the elevation between emergence and shoulder: 25 degrees
BESIDE_MM = 0.1
LONG_RATIO = 1.25  # a post so much longer than what lies beyond the margin is the upper end

MARGIN_HEIGHT = Quantity(
    "margin_height", "Height of the margin above the platform", "mm",
    "mean height of the margin line along the implant's axis",
)  # fmt: skip
POST_HEIGHT = Quantity(
    "post_height", "Height of the post above the margin", "mm",
    "along the post's axis, from the most coronal point of the margin to the top",
)  # fmt: skip
SHOULDER_WIDTH = Quantity(
    "shoulder_width", "Width of the shoulder", "mm",
    "least distance across the post's axis from the margin to the foot of the wall",
)  # fmt: skip
QUANTITIES = (MARGIN_HEIGHT, POST_HEIGHT, SHOULDER_WIDTH)


@dataclass(frozen=True, eq=False)
class Post:
    """An abutment taken apart.

    nearest: its surface. part (n,) uint8: OTHER, EMERGENCE, SHOULDER, WALL, TOP or BORE of each
    face. pose: the post's axis, coronal, its origin in the middle of the margin. margin_mm
    (k, 3): the closed margin line, its last point joins the first. spread_mm: how far the
    margin may lie elsewhere on a rounded edge, 0 on a sharp one. because: why the post or the
    margin is not known, else empty. told: which of "margin", "axis", "coronal" the set gave;
    implant is its pose as told.
    """

    nearest: Nearest
    part: np.ndarray
    pose: Pose | None
    margin_mm: np.ndarray | None
    spread_mm: float
    is_knife_edge: bool
    because: str
    told: tuple[str, ...]
    ridge: Ridge | None = None
    implant: Pose | None = None

    @property
    def is_found(self) -> bool:
        return self.margin_mm is not None

    @property
    def has_bore(self) -> bool:
        return bool((self.part == BORE).any())

    def faces_of(self, *parts: int) -> np.ndarray:
        """The numbers of the faces of some parts."""
        return np.flatnonzero(np.isin(self.part, parts))

    def source(self) -> dict:
        """Where the margin and the axis come from, in words."""
        return {
            "margin_is": "told by the set" if "margin" in self.told else "found from the mesh",
            "axis_is": "told by the set" if "axis" in self.told else "found from the mesh",
        }


def find_post(
    vertices: np.ndarray,
    faces: np.ndarray,
    implant: Pose | None = None,
    margin_mm: np.ndarray | None = None,
    axis: np.ndarray | None = None,
) -> Post:
    """Take the mesh of an abutment apart; see `Post`.

    `implant`: where the implant stands, for the direction toward the crown. `margin_mm` (k, 3),
    a closed line, and `axis` (3,), coronal, replace what would be found. On sharp edges the
    margin is exact; on rounded ones it lies in the middle of the rounding.
    """
    nearest = Nearest(vertices, faces, REACH_MM)
    told = tuple(
        name
        for name, given in (("margin", margin_mm), ("axis", axis), ("coronal", implant))
        if given is not None
    )
    body = _Body.of(nearest)
    if body is None:
        return _nothing(nearest, told, "The abutment's mesh holds no surface.")
    towards = axis if axis is not None else None if implant is None else implant.axis
    if axis is None:
        found = _first_axis(body, implant)
        if found is None:
            return _nothing(
                nearest, told, "No wall runs around one direction, so no post was found."
            )
        axis = found
    axis = np.asarray(axis, float) / np.linalg.norm(axis)
    signs = (1.0, -1.0) if towards is None else (1.0 if axis @ towards > 0 else -1.0,)
    tries = [_settled(body, sign * axis, implant, "axis" in told) for sign in signs]
    best = _upper(body, tries)
    return replace(_told(nearest, body, best, told, margin_mm), implant=implant)


@dataclass(frozen=True, eq=False)
class _Body:
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
class _Try:
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


def _nothing(nearest, told, because):
    part = np.full(len(nearest.faces), OTHER, np.uint8)
    return Post(nearest, part, None, None, 0.0, False, because, told)


def _first_axis(body, implant):
    """The direction of the outer walls; of an abutment on an implant, of the upper ones."""
    outer = body.is_outer
    weights = body.areas[outer]
    if implant is None:
        return wall_direction(body.normals[outer], weights)
    height = (body.middles[outer] - implant.origin_mm) @ implant.axis
    upper = height > np.quantile(height, 0.5)
    weights = weights * np.where(height > 0, np.where(upper, 1.0, 0.2), 0.0)
    return wall_direction(body.normals[outer], weights, implant.axis)


def _settled(body, axis, implant, is_axis_told):
    """Find ridge and wall around an axis, and the axis again from that wall."""
    corners = body.nearest.faces[body.is_outer]
    wall = body.is_outer & (np.abs(body.normals @ axis) < LATERAL)
    height = body.middles @ axis
    low, high = height[body.is_outer].min(), height[body.is_outer].max()
    upper = wall & (height > (low + high) / 2)
    wall = upper if upper.any() else wall
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
        found = _Try(pose, ridge, wall)
        if found.share < LEAST_RING:
            return found
        part = _parts(body, pose, ridge)
        if not (part == WALL).any():
            return found
        wall = part == WALL
    return replace(found, wall=wall)


def _upper(body, tries):
    """The reading the right way up: the longer post, else the end where the bore is wider."""
    tries = sorted(tries, key=lambda one: (one.share >= LEAST_RING, one.height_mm))
    if len(tries) > 1 and tries[0].share >= LEAST_RING and body.is_bore.any():
        low, high = tries
        if high.height_mm < LONG_RATIO * low.height_mm:
            return max(tries, key=lambda one: _bore_widening(body, one.pose))
    return tries[-1]


def _bore_widening(body, pose):
    """How much wider the bore is in its upper third than in its lower, in mm."""
    local = pose.to_local(body.middles[body.is_bore])
    low, high = np.quantile(local[:, 2], [0.25, 0.75])
    radius = np.hypot(local[:, 0], local[:, 1])
    ends = radius[local[:, 2] >= high], radius[local[:, 2] <= low]
    return float(np.median(ends[0]) - np.median(ends[1]))


def _parts(body, pose, ridge):
    """Sort the faces by the ridge."""
    local = pose.to_local(body.middles)
    rising = body.normals @ pose.axis
    turn = np.arctan2(local[:, 1], local[:, 0])
    radius = np.hypot(local[:, 0], local[:, 1])
    edge_height, edge_radius, top, foot = (
        _around(values, turn)
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


def _around(values, turn):
    """Values of the half planes at any turn, linear between those that are known."""
    known = np.flatnonzero(np.isfinite(values))
    count = len(values)
    at = np.mod(turn, 2 * np.pi) * count / (2 * np.pi)
    return np.interp(at, known, values[known], period=count)


def _told(nearest, body, best, told, margin_mm):
    """The Post of the reading chosen."""
    because = ""
    if best.share < LEAST_RING and margin_mm is None:
        because = (
            f"An edge around the post shows in {100 * best.share:.0f} % of its sections only, "
            "so no closed margin line can be named."
        )
        part = np.full(len(nearest.faces), OTHER, np.uint8)
        part[best.wall], part[body.is_bore] = WALL, BORE
        return Post(nearest, part, best.pose, None, 0.0, False, because, told, best.ridge)
    ridge = best.ridge
    spread = float(np.nanmedian(ridge.spread_mm)) if ridge.is_found.any() else 0.0
    if margin_mm is None:
        line = _line(best.pose, ridge)
    else:
        line, spread = np.asarray(margin_mm, float), 0.0
        ridge = _ridge_of_line(best.pose.to_local(line), ridge)
    part = _parts(body, best.pose, ridge)
    shift = (line.mean(axis=0) - best.pose.origin_mm) @ best.pose.axis * best.pose.axis
    pose = replace(best.pose, origin_mm=best.pose.origin_mm + shift)
    height = float(shift @ best.pose.axis)
    ridge = replace(
        ridge,
        height_mm=ridge.height_mm - height,
        foot_height_mm=ridge.foot_height_mm - height,
        top_mm=ridge.top_mm - height,
    )
    is_knife_edge = float(ridge.is_shoulder.mean()) < KNIFE_SHARE
    return Post(nearest, part, pose, line, spread, is_knife_edge, "", told, ridge)


def _line(pose, ridge):
    """The margin as a closed line, its gaps bridged."""
    count = len(ridge.height_mm)
    turn = 2 * np.pi * np.arange(count) / count
    radius, height = _around(ridge.radius_mm, turn), _around(ridge.height_mm, turn)
    local = np.column_stack([radius * np.cos(turn), radius * np.sin(turn), height])
    return pose.to_world(local)


def _ridge_of_line(local, ridge):
    """The ridge with a told line (k, 3), in the post's coordinates, for its edge."""
    count = len(ridge.height_mm)
    steps = np.linspace(0, 1, 20, endpoint=False)[:, None]
    ends = np.roll(local, -1, axis=0)
    dense = (local[:, None] * (1 - steps) + ends[:, None] * steps).reshape(-1, 3)
    at = np.mod(np.arctan2(dense[:, 1], dense[:, 0]), 2 * np.pi) * count / (2 * np.pi)
    order = np.argsort(at)
    planes = np.arange(count)
    radius = np.hypot(dense[:, 0], dense[:, 1])[order]
    edge = np.interp(planes, at[order], dense[order, 2], period=count)
    return replace(
        ridge,
        radius_mm=np.interp(planes, at[order], radius, period=count),
        height_mm=edge,
        foot_height_mm=np.where(np.isfinite(ridge.foot_height_mm), ridge.foot_height_mm, edge),
        spread_mm=np.zeros(count),
    )


def measure_post(post: Post, site: str, implant: Pose | None = None) -> list[Measured]:
    """Return margin height, post height and shoulder width of an abutment at a site."""
    if not post.is_found:
        return [quantity.not_known(site, post.because) for quantity in QUANTITIES]
    return [
        _margin_height(post, site, implant),
        _post_height(post, site),
        _shoulder_width(post, site),
    ]


def _margin_height(post, site, implant):
    if implant is None:
        return MARGIN_HEIGHT.not_known(
            site, "The implant's pose is not known, so the margin has no height above it."
        )
    height = (post.margin_mm - implant.origin_mm) @ implant.axis
    return MARGIN_HEIGHT.of(
        site, height.mean(), post.margin_mm[np.argmin(height)], post.spread_mm,
        least_mm=height.min(), most_mm=height.max(), is_knife_edge=post.is_knife_edge,
        **post.source(),
    )  # fmt: skip


def _post_height(post, site):
    upper = post.nearest.vertices[post.nearest.faces[post.faces_of(WALL, TOP)]].reshape(-1, 3)
    if not len(upper):
        return POST_HEIGHT.not_known(site, "Nothing stands above the margin.")
    top = upper[np.argmax(upper @ post.pose.axis)]
    edge = post.margin_mm @ post.pose.axis
    return POST_HEIGHT.of(
        site, top @ post.pose.axis - edge.max(), top, post.spread_mm,
        above_mean_margin_mm=top @ post.pose.axis - edge.mean(), **post.source(),
    )  # fmt: skip


def _shoulder_width(post, site):
    if post.is_knife_edge:
        return SHOULDER_WIDTH.not_known(
            site, "The margin is a knife edge: wall and emergence meet without a shoulder."
        )
    ridge = post.ridge
    width = np.where(ridge.is_shoulder, ridge.radius_mm - ridge.foot_radius_mm, np.nan)
    k = int(np.nanargmin(width))
    turn = 2 * np.pi * k / len(width)
    place = [ridge.radius_mm[k] * np.cos(turn), ridge.radius_mm[k] * np.sin(turn)]
    return SHOULDER_WIDTH.of(
        site, width[k], post.pose.to_world(np.array([[*place, ridge.height_mm[k]]]))[0],
        post.spread_mm, median_mm=np.nanmedian(width), most_mm=np.nanmax(width),
    )  # fmt: skip
