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
# The crest of the gum is looked for so far outside of the margin, in steps; what rises there is
# followed as far again.
STEP_MM, STEPS_BESIDE, STEPS_LOOKED = 0.02, 50, 100
STEEP = 1.7  # rise over width, 60 degrees: the side of a tooth, or of the well in the gum
WELL_MM = 4.0  # gum over an implant is seldom thicker (common practice, no source)


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
    count = len(post.ridge.height_mm)
    sections = sections_around(post.pose.to_local(vertices), faces, count)
    return np.array([_crest(one) for one in _profiles(sections, post.ridge)])


def _profiles(sections, ridge):
    """Heights (k, n) over the margin of the lowest surface in even steps outside of it."""
    plane = np.repeat(np.arange(sections.count), np.diff(sections.starts))
    order = np.argsort(sections.ends[..., 0], axis=1)[..., None]
    ends = np.take_along_axis(sections.ends, order, axis=1)
    near, far = ends[..., 0].T - ridge.radius_mm[plane]
    low, high = ends[..., 1].T - ridge.height_mm[plane]
    slope = (high - low) / np.maximum(far - near, 1e-12)
    profiles = np.full((sections.count, STEPS_LOOKED + 1), np.inf)
    for step, at in enumerate(STEP_MM * np.arange(STEPS_LOOKED + 1)):
        height = low + (at - near) * slope
        passed = (near <= at) & (at <= far) & (height > -DEPTH_REACH_MM)
        np.minimum.at(profiles[:, step], plane[passed], height[passed])
    return np.where(np.isfinite(profiles), profiles, np.nan)


def _crest(profile):
    """The highest gum of a profile (n,) up to 1 mm outside; nan where there is none.

    What rises steeply there and does not end, or ends higher than gum is thick, is a tooth: no
    farther is gum looked for. The wall of the well in which an implant stands ends in a crest.
    """
    rises = np.append(np.diff(profile) > STEEP * STEP_MM, False)
    end, start = STEPS_BESIDE + 1, 0
    while start < STEPS_BESIDE:
        stop = start + int(np.argmin(rises[start:]))
        is_open = stop == STEPS_LOOKED or np.isnan(profile[stop + 1])
        if stop > start and (is_open or profile[stop] - profile[start] > WELL_MM):
            end = start
            break
        start = stop + 1
    gum = profile[:end]
    gum = gum[gum < DEPTH_REACH_MM]
    return gum.max() if len(gum) else np.nan
