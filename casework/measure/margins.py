"""How high does the margin of an abutment lie, how high is its post, how wide its shoulder?"""

import numpy as np

from casework.measure.post_reading import TOP, WALL
from casework.measure.posts import Post
from casework.measure.results import Measured, Quantity
from casework.measure.surfaces.poses import Pose

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
