"""Does the driver reach its screw, between the neighbours and under the opened opposing jaw?

The driver is a stack of cylinders on the axis. Gaps are distances between solid and surface.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from casework.measure.arch import ArchFrame
from casework.measure.channels import legs_of
from casework.measure.results import Measured, Quantity
from casework.measure.surfaces.cylinder import faces_near
from casework.measure.surfaces.gaps import scan_surface, without_noise
from casework.measure.surfaces.pieces import compacted
from casework.measure.surfaces.poses import Pose, Rigid
from casework.measure.surfaces.turned import Clear, Turned, clearance

NEAR_MM = 4.0  # around the driver scans are cleaned and smoothed; farther away is far enough
FAR_MM = 15.0  # around the axis neighbours are looked at
BELOW_MM = 1.0  # the platform; nothing under it is in the way
OWN_MM, GUM_MM = 7.0, 1.5  # around the axis, so high above the gum, soft tissue gives way
RING_MM, RING_HIGH_MM = (2.5, 4.5), 10.0  # around the axis the height of the gum is taken
SECTORS, GUM_SHARE = 12, 0.35  # of the turn; in more than so many no neighbour stands so near
BODY_MM = (3.0, 14.0)  # radius and height in which a scan body may stand
# The equilateral triangle of 4 inches between both condyles and the front teeth (W. G. A.
# Bonwill, 1885; from memory) puts the hinge 88 mm behind the front teeth.
HINGE_MM = 88.0
# How far a tooth stands behind the front teeth, by its place from the midline; common casts,
# from memory.
BEHIND_MM = {
    "1": 0.0,
    "2": 2.0,
    "3": 6.0,
    "4": 12.0,
    "5": 18.0,
    "6": 26.0,
    "7": 36.0,
    "8": 46.0,
}
NOISE_LEFT = 0.6  # share of the noise by which a least distance is still unsure when smoothed

DRIVER_PATH = Quantity(
    "driver_path", "Clearance of the driver to neighbours and opened opposing jaw", "mm",
    "least distance of the seated driver, as cylinders, from the lightly smoothed scans",
)  # fmt: skip
QUANTITIES = (DRIVER_PATH,)


@dataclass(frozen=True, eq=False)
class Hinge:
    """The axis about which a jaw opens, and the place whose way is the opening told."""

    place_mm: np.ndarray
    axis: np.ndarray
    front_mm: np.ndarray


@dataclass(frozen=True, eq=False)
class Obstacle:
    """Something that may be in the driver's way: its name and surface; a scan has noise."""

    name: str
    vertices: np.ndarray
    faces: np.ndarray
    is_scan: bool = True


def driver_solid(driver: dict) -> tuple[Turned, list[str]]:
    """Return the driver on the z axis, its tip's end at 0, and which dimensions are not told.

    Above the tip comes the shank, and above the shank the handle up to the whole length. A
    handle of unknown diameter counts as thick as the shank.
    """
    tip_length = driver.get("tip_length_mm") or 0.0
    shank = driver.get("shank_diameter_mm") or 0.0
    tip = driver.get("tip_diameter_mm") or shank
    length = driver.get("length_mm") or 0.0
    shank_end = tip_length + (driver.get("shank_length_mm") or max(length - tip_length, 0.0))
    handle = driver.get("handle_diameter_mm") or shank
    missing = [name for name in ("shank_diameter_mm", "length_mm") if not driver.get(name)]
    solid = Turned.of(
        (0.0, tip_length, tip / 2),
        (tip_length, shank_end, shank / 2),
        (shank_end, length, handle / 2),
    )
    return solid, missing


def tip_height(screw: dict, seat_mm: float) -> float:
    """Return the height of the tip's end above the platform, the driver being in the screw.

    The socket is as deep as told, else half as deep as the head is high.
    """
    head = screw.get("head_height_mm") or 0.0
    return seat_mm + head - (screw.get("socket_depth_mm") or head / 2)


def opened(
    site: str, opening_mm: float, occlusal: np.ndarray, hinge: Hinge | None = None
) -> tuple[Rigid, str]:
    """Return the motion that opens the opposing jaw, and in words how it is opened.

    `opening_mm` is told between the front teeth. Without a hinge the jaw is moved straight
    along the occlusal direction by what is left of the opening at the site, the hinge of the
    jaws being taken as 88 mm behind the front teeth.
    """
    if hinge is None:
        share = 1.0 - BEHIND_MM[site[1:]] / HINGE_MM
        how = f"moved {opening_mm * share:.1f} mm along the occlusal direction"
        return Rigid(np.eye(3), opening_mm * share * occlusal), how
    axis = hinge.axis / np.linalg.norm(hinge.axis)
    arm = hinge.front_mm - hinge.place_mm
    arm = arm - (arm @ axis) * axis
    angle = 2 * np.arcsin(min(opening_mm / (2 * np.linalg.norm(arm)), 1.0))
    if np.cross(axis, arm) @ occlusal < 0:
        axis = -axis
    x, y, z = axis
    turn = np.array([[0, -z, y], [z, 0, -x], [-y, x, 0]])
    rotation = np.eye(3) + np.sin(angle) * turn + (1 - np.cos(angle)) * turn @ turn
    how = f"turned {np.degrees(angle):.1f}° about the hinge told"
    return Rigid(rotation, hinge.place_mm - rotation @ hinge.place_mm), how


def gum_height(local: np.ndarray) -> float:
    """Return about how high the gum stands over the platform, from places (k, 3) of a scan.

    In the coordinates of the implant; 0 where the scan shows nothing around it.
    """
    radius = np.hypot(local[:, 0], local[:, 1])
    ring = (radius > RING_MM[0]) & (radius < RING_MM[1]) & (np.abs(local[:, 2]) < RING_HIGH_MM)
    if not ring.any():
        return 0.0
    turn = np.arctan2(local[ring, 1], local[ring, 0]) / (2 * np.pi) + 0.5
    sector = (turn * SECTORS).astype(int) % SECTORS
    crest = np.full(SECTORS, -np.inf)
    np.maximum.at(crest, sector, local[ring, 2])
    return float(np.quantile(crest[np.isfinite(crest)], GUM_SHARE))


def neighbours_of(
    obstacle: Obstacle, site: str, poses: Mapping[str, Pose], has_bodies: bool
) -> Obstacle:
    """Return a working scan without what gives way at a site: its gum, and scan bodies.

    Around the implant's own axis soft tissue is left out up to 1.5 mm above the gum there;
    where the scan shows scan bodies, so is what stands where they do.
    """
    obstacle = _within(obstacle, poses[site], FAR_MM)
    middles = obstacle.vertices[obstacle.faces].mean(axis=1)
    local = poses[site].to_local(middles)
    gone = np.hypot(local[:, 0], local[:, 1]) < OWN_MM
    gone &= local[:, 2] < gum_height(local) + GUM_MM
    if has_bodies:
        for pose in poses.values():
            local = pose.to_local(middles)
            inside = np.hypot(local[:, 0], local[:, 1]) < BODY_MM[0]
            gone |= inside & (local[:, 2] < BODY_MM[1])
    kept = compacted(obstacle.vertices, obstacle.faces[~gone])
    return Obstacle(obstacle.name, *kept, obstacle.is_scan)


def driver_path(
    site: str,
    poses: Mapping[str, Pose],
    screw: Mapping[str, float],
    driver: Mapping[str, float],
    frame: ArchFrame | None,
    working: Obstacle | None,
    opposing: Obstacle | None,
    opening_mm: float,
    *,
    has_bodies: bool = False,
    channel_axis: np.ndarray | None = None,
    hinge: Hinge | None = None,
) -> Measured:
    """Return the least clearance of the driver, seated in its screw, to what scans show.

    `poses` of all implants of the jaw. `working`: scan of the jaw, at best without scan bodies
    (`has_bodies` tells), `opposing`: in the bite; it is opened by `opening_mm` between the
    front teeth. `channel_axis` (3,) of a turned channel: the driver stands in it. Without
    `frame` the jaw is opened along the implant's axis.
    """
    solid, missing = driver_solid(driver)
    if missing:
        return DRIVER_PATH.not_known(
            site, f"Of the driver, {' and '.join(missing)} is not told."
        )
    occlusal = poses[site].axis if frame is None else frame.occlusal
    motion, how = opened(site, opening_mm, occlusal, hinge)
    seat = screw.get("seat_height_mm")
    bend = (seat or 0.0) + (screw.get("head_height_mm") or 0.0)
    pose = legs_of(poses[site], bend, channel_axis)[-1].pose
    solid = solid.raised(tip_height(screw, seat or 0.0))
    gaps = []
    if working is not None:
        neighbours = neighbours_of(working, site, poses, has_bodies)
        gaps.append(_gap(pose, solid, neighbours))
    if opposing is not None:  # the driver is moved instead: places stay those of the bite
        gaps.append(_gap(pose.moved(motion.inverse()), solid, opposing))
    gaps = [gap for gap in gaps if gap is not None]
    if not gaps:
        return DRIVER_PATH.not_known(site, "No scan shows neighbours or the opposing jaw.")
    least = min(gaps, key=lambda one: one.gap_mm)
    half = 1.96 * NOISE_LEFT * least.noise_mm
    return DRIVER_PATH.of(
        site, least.gap_mm, least.place_mm, half, at=least.name, raw_mm=least.raw_mm,
        by_file={one.name: one.gap_mm for one in gaps}, opening_mm=opening_mm,
        opened=how if opposing is not None else "no opposing scan",
        seat_is="told" if seat is not None else "not told: the platform is taken",
        is_handle_told=bool(driver.get("handle_diameter_mm")),
    )  # fmt: skip


def _within(obstacle, pose, radius):
    """The part of a surface around an axis; all of it where nothing is so near."""
    near = faces_near(pose.to_local(obstacle.vertices), obstacle.faces, radius)
    if not near.any():
        return obstacle
    kept = compacted(obstacle.vertices, obstacle.faces[near])
    return Obstacle(obstacle.name, *kept, obstacle.is_scan)


@dataclass(frozen=True, eq=False)
class _Gap:
    """The least gap of a driver to one obstacle: in mm, where in the world, its noise."""

    name: str
    gap_mm: float
    place_mm: np.ndarray
    noise_mm: float
    raw_mm: float


def _gap(pose, solid, obstacle):
    local = pose.to_local(obstacle.vertices)
    is_above = (local[:, 2] > -BELOW_MM)[obstacle.faces].any(axis=1)
    near = is_above & faces_near(local, obstacle.faces, solid.steps[:, 2].max() + NEAR_MM)
    if not obstacle.is_scan or not near.any():
        found = clearance(local, obstacle.faces[is_above], solid)
        return None if found is None else _told(obstacle, pose, found, 0.0, found.gap_mm)
    surface = without_noise(scan_surface(*compacted(local, obstacle.faces[near])))
    raw = clearance(surface.raw, surface.faces, solid)
    found = clearance(surface.vertices, surface.faces, solid)
    return _told(obstacle, pose, found, surface.noise_mm, raw.gap_mm)


def _told(obstacle, pose, found: Clear, noise, raw):
    place = pose.to_world(found.place_mm[None])[0]
    return _Gap(obstacle.name, found.gap_mm, place, noise, raw)
