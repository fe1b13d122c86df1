"""How high does an abutment's margin lie, how deep in the gum; how high is the post over it?"""

import numpy as np

from casework.measure.post_reading import TOP, WALL
from casework.measure.posts import Post
from casework.measure.results import Measured, Quantity
from casework.measure.surfaces.half_planes import sections_around
from casework.measure.surfaces.pieces import compacted, main_pieces
from casework.measure.surfaces.poses import Pose
from casework.measure.surfaces.smoothing import smoothed

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
MARGIN_DEPTH = Quantity(
    "margin_depth", "Deepest place of the margin below the gum", "mm",
    "along the post's axis to the highest gum up to 1 mm outside; negative above the gum",
)  # fmt: skip
QUANTITIES = (MARGIN_HEIGHT, POST_HEIGHT, SHOULDER_WIDTH, MARGIN_DEPTH)

DEPTH_REACH_MM = 6.0  # no margin lies that deep
LEAST_SEEN = 0.75  # of the margin must have gum beside it
BESIDE_MM = 1.0  # the crest of the gum is looked for so far outside of the margin


def measure_post(post: Post, site: str, implant: Pose | None = None) -> list[Measured]:
    """Return margin height, post height and shoulder width of an abutment at a site."""
    if not post.is_found:
        return [
            quantity.not_known(site, post.because)
            for quantity in (MARGIN_HEIGHT, POST_HEIGHT, SHOULDER_WIDTH)
        ]
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
    return SHOULDER_WIDTH.of(
        site, width[k], _place(post, k),
        post.spread_mm, median_mm=np.nanmedian(width), most_mm=np.nanmax(width),
    )  # fmt: skip


def _place(post, k):
    """The place of the margin in one of the half planes around the post."""
    ridge, turn = post.ridge, 2 * np.pi * k / len(post.ridge.height_mm)
    radius = ridge.radius_mm[k]
    local = [radius * np.cos(turn), radius * np.sin(turn), ridge.height_mm[k]]
    return post.pose.to_world(np.array([local]))[0]


def margin_depth(post: Post, site: str, vertices: np.ndarray, faces: np.ndarray) -> Measured:
    """Return how deep the margin at a site lies in the gum of a scan without scan bodies."""
    if not post.is_found:
        return MARGIN_DEPTH.not_known(site, post.because)
    vertices, faces, dropped = main_pieces(vertices, faces)
    away = np.abs(vertices - post.margin_mm.mean(axis=0)).max(axis=1)
    reach = np.ptp(post.margin_mm, axis=0).max() + DEPTH_REACH_MM
    faces = faces[(away < reach)[faces].all(axis=1)]
    depth = np.full(len(post.ridge.height_mm), np.nan)
    if len(faces):
        vertices, faces = compacted(vertices, faces)
        depth = _depth(post, smoothed(vertices, faces), faces)
    seen = np.isfinite(depth)
    if seen.mean() < LEAST_SEEN:
        return MARGIN_DEPTH.not_known(
            site,
            f"The scan shows gum beside {100 * seen.mean():.0f} % of the margin only.",
        )
    at = int(np.nanargmax(depth))
    return MARGIN_DEPTH.of(
        site, depth[at], _place(post, at), post.spread_mm,
        median_mm=np.nanmedian(depth), least_mm=np.nanmin(depth), share_seen=seen.mean(),
        dropped_piece_count=len(dropped), margin_is=post.source()["margin_is"],
    )  # fmt: skip


def _depth(post, vertices, faces):
    """Signed depths (k,) of the margin in even turns, nan where no gum is beside it."""
    sections = sections_around(post.pose.to_local(vertices), faces, len(post.ridge.height_mm))
    plane = np.repeat(np.arange(sections.count), np.diff(sections.starts))
    radius, height = sections.ends[..., 0], sections.ends[..., 1]
    near = post.ridge.radius_mm[plane]
    # The part of each segment between the margin and 1 mm outside of it.
    along = np.where(radius[:, 1] == radius[:, 0], 1e-12, radius[:, 1] - radius[:, 0])
    shares = (np.stack([near, near + BESIDE_MM], axis=1) - radius[:, :1]) / along[:, None]
    first, last = np.clip(np.sort(shares, axis=1), 0.0, 1.0).T
    rise = height[:, 1] - height[:, 0]
    top = height[:, 0] + np.maximum(first * rise, last * rise)
    is_in = (radius.max(axis=1) >= near) & (radius.min(axis=1) <= near + BESIDE_MM)
    is_in &= np.abs(top - post.ridge.height_mm[plane]) < DEPTH_REACH_MM
    highest = np.full(sections.count, -np.inf)
    np.maximum.at(highest, plane[is_in], top[is_in])
    depth = highest - post.ridge.height_mm
    return np.where(np.isfinite(depth), depth, np.nan)
