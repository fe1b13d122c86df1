"""Where do the implants stand, and what shape is the scan body screwed onto each?"""

from dataclasses import dataclass

import numpy as np

from casework.demo.meshes.fields import frame_of, settle
from casework.demo.meshes.surface import surface_nets, triangles_of


@dataclass(frozen=True)
class ScanBodyForm:
    """An invented scan body: a cylinder with one flat and a bevelled, flat top; millimetres."""

    diameter_mm: float = 4.5
    height_mm: float = 8.0  # platform to top
    flat_depth_mm: float = 0.7  # how much of the radius the flat takes away
    flat_from_mm: float = 3.6  # the flat begins this high above the platform
    bevel_mm: float = 0.4


@dataclass(frozen=True, eq=False)
class Implant:
    """The known truth of one implant in the common frame."""

    site: str
    platform: np.ndarray  # centre of the platform
    axis: np.ndarray  # unit vector, coronal
    flat: np.ndarray  # unit vector across the axis toward which the scan body's flat faces
    platform_diameter_mm: float
    depth_mm: float  # crest of the soft tissue above the platform

    def local(self, points):
        """Coordinates toward the flat, across it, and above the platform."""
        return (points - self.platform) @ frame_of(self.axis, self.flat).T


# Tilt of the implant by place in the arch: toward distal and toward cheek, degrees; invented,
# so that two implants of one bridge diverge by several degrees.
TILT_DEG = {1: (0.5, -3.0), 2: (1.0, -3.0), 3: (1.0, 0.0), 4: (-1.5, 1.0), 5: (-1.5, 1.0),
            6: (1.0, -2.0), 7: (1.5, -2.0)}  # fmt: skip
PLATFORM_MM = {1: 4.0, 2: 3.5, 3: 4.0, 4: 4.0, 5: 4.0, 6: 4.8, 7: 4.8}
DEPTH_MM = 2.8


def implant_at(tooth, crest, seed):
    """The implant at a tooth's site, `DEPTH_MM` below the crest of the tissue (coronal mm)."""
    random = np.random.default_rng([seed, int(tooth.site)])
    distal, cheek = np.radians(np.array(TILT_DEG[tooth.place]) + random.normal(0, 0.4, 2))
    axis = tooth.direction(np.tan(distal), np.tan(cheek), 1.0)
    deep = crest - DEPTH_MM - tooth.neck_z * tooth.coronal
    share = 0.6 if tooth.place <= 2 else 1.0  # front implants lean less than the crowns
    platform = tooth.point(0.1, share * tooth.middle(deep + 0.7 * DEPTH_MM), deep)
    flat = frame_of(axis, tooth.direction(np.tan(random.normal(0, 0.15)), 1.0, 0.0))[0]
    return Implant(tooth.site, platform, axis, flat, PLATFORM_MM[tooth.place], DEPTH_MM)


def scan_body_field(form, local):
    """Signed distance, exact near the faces, to a scan body in its implant's coordinates."""
    toward, across, up = local[:, 0], local[:, 1], local[:, 2]
    radius = form.diameter_mm / 2
    round_about = np.hypot(toward, across)
    side = round_about - radius
    top = up - form.height_mm
    bevel = (side + top + form.bevel_mm) / np.sqrt(2.0)
    solid = np.maximum(np.maximum(side, top), np.maximum(bevel, -up))
    flat = toward - (radius - form.flat_depth_mm)
    ledge = form.flat_from_mm - up
    cut = np.minimum(flat, -ledge)  # outside of the removed block where negative
    return np.maximum(solid, cut)


def funnel_field(implant, local):
    """Rough signed distance to the emergence profile left in the soft tissue."""
    round_about, up = np.hypot(local[:, 0], local[:, 1]), local[:, 2]
    base = implant.platform_diameter_mm / 2 + 0.15
    flare = base + 0.38 * np.maximum(up, 0.0)
    funnel = np.maximum((round_about - flare) * 0.93, -up)
    well = np.maximum(round_about - 1.25, -0.9 - up)  # the opening of the implant itself
    return np.minimum(funnel, well)


def scan_body_mesh(form, step_mm=0.15):
    """The closed reference mesh of a scan body in its implant's coordinates."""
    reach = form.diameter_mm / 2 + 2.5 * step_mm
    axes = [
        np.arange(-reach, reach + step_mm, step_mm),
        np.arange(-reach, reach + step_mm, step_mm),
        np.arange(-2.37 * step_mm, form.height_mm + 3 * step_mm, step_mm),
    ]
    grid = np.stack(np.meshgrid(*axes, indexing="ij"), axis=-1)
    values = scan_body_field(form, grid.reshape(-1, 3)).reshape(grid.shape[:3])
    places, quads = surface_nets(values)
    origin = np.array([axis[0] for axis in axes])
    points = settle(
        origin + places * step_mm, lambda at: scan_body_field(form, at), 0.4 * step_mm
    )
    return points, triangles_of(points, quads)
