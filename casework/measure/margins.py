"""How high does an abutment's margin lie, how deep in the gum; how high is the post over it?"""

import numpy as np

from casework.measure.post_reading import TOP, WALL
from casework.measure.posts import Post
from casework.measure.results import Measured, Quantity
from casework.measure.surfaces.nearest import Nearest
from casework.measure.surfaces.pieces import compacted, main_pieces
from casework.measure.surfaces.poses import Pose
from casework.measure.surfaces.rays import BACK, FRONT, first_hits
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
    "along the post's axis to the lightly smoothed scan; negative above the gum",
)  # fmt: skip
QUANTITIES = (MARGIN_HEIGHT, POST_HEIGHT, SHOULDER_WIDTH, MARGIN_DEPTH)

DEPTH_REACH_MM = 6.0  # no margin lies that deep
LEAST_SEEN = 0.75  # of the margin must have gum over or under it


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
    turn = 2 * np.pi * k / len(width)
    place = [ridge.radius_mm[k] * np.cos(turn), ridge.radius_mm[k] * np.sin(turn)]
    return SHOULDER_WIDTH.of(
        site, width[k], post.pose.to_world(np.array([[*place, ridge.height_mm[k]]]))[0],
        post.spread_mm, median_mm=np.nanmedian(width), most_mm=np.nanmax(width),
    )  # fmt: skip


def margin_depth(post: Post, site: str, vertices: np.ndarray, faces: np.ndarray) -> Measured:
    """Return how deep the margin at a site lies in the gum of a scan without scan bodies."""
    if not post.is_found:
        return MARGIN_DEPTH.not_known(site, post.because)
    vertices, faces, dropped = main_pieces(vertices, faces)
    away = np.abs(vertices - post.margin_mm.mean(axis=0)).max(axis=1)
    reach = np.ptp(post.margin_mm, axis=0).max() + DEPTH_REACH_MM
    faces = faces[(away < reach)[faces].all(axis=1)]
    depth = np.full(len(post.margin_mm), np.nan)
    if len(faces):
        vertices, faces = compacted(vertices, faces)
        depth = _depth(post, Nearest(smoothed(vertices, faces), faces, 1.0))
    seen = np.isfinite(depth)
    if seen.mean() < LEAST_SEEN:
        return MARGIN_DEPTH.not_known(
            site,
            f"The scan shows gum over or under {100 * seen.mean():.0f} % of the margin only.",
        )
    at = int(np.nanargmax(depth))
    return MARGIN_DEPTH.of(
        site, depth[at], post.margin_mm[at], post.spread_mm,
        median_mm=np.nanmedian(depth), least_mm=np.nanmin(depth), share_seen=seen.mean(),
        dropped_piece_count=len(dropped), margin_is=post.source()["margin_is"],
    )  # fmt: skip


def _depth(post, gum):
    """Signed depths (k,) of the margin's points, nan where no gum is over or under them."""
    axis = np.tile(post.pose.axis, (len(post.margin_mm), 1))
    # From below the gum its inner side is met, from above it the outer one.
    over, _ = first_hits(gum, post.margin_mm, axis, BACK, DEPTH_REACH_MM)
    under, _ = first_hits(gum, post.margin_mm, -axis, FRONT, DEPTH_REACH_MM)
    depth = np.where(over <= under, over, -under)
    return np.where(np.isfinite(depth), depth, np.nan)
