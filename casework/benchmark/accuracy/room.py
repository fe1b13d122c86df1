"""How exactly is the room over and beside an implant measured on scans?"""

import numpy as np
from scipy.optimize import brentq
from scipy.spatial import cKDTree

from casework.benchmark.accuracy import Row, summary
from casework.demo.meshes.arches import lower_arch, upper_arch
from casework.demo.meshes.fields import settle
from casework.demo.meshes.jaws import lower_jaw, upper_jaw
from casework.demo.meshes.teeth import crown_field, dentition
from casework.measure.arch import arch_frame
from casework.measure.room import axis_exit, gap_width, room_height
from casework.measure.surfaces.poses import Pose

TRIANGLES = 24_000
# Site of the implant, the sites beside it, and those that the scan runs between.
GAPS = {
    "36": ("lower", ("35", "37"), ("37", "33")),
    "25": ("upper", ("24", "26"), ("27", "22")),
}


STEEP_DEG = 60.0  # between the axis and the surface's normal


def rows(seeds: int = 30) -> list[Row]:
    """Return the errors over so many invented patients, each with two gaps and two noises.

    "Of the stated" is an error as a share of its stated 95 %: 95 of 100 should be below 1.
    """
    found = []
    for noise_um in (10, 30):
        errors = [_one(site, 100 + seed, noise_um) for seed in range(seeds) for site in GAPS]
        condition = f"stretch of an arch, noise {noise_um} µm"
        height, stated, steep, width, occlusal, outward, angle = np.array(errors).T
        for words, mine in (
            ("surface up to 60° steep", steep <= STEEP_DEG), ("steeper", steep > STEEP_DEG),
        ):  # fmt: skip
            if mine.any():
                found.append(
                    summary("height", "µm", f"{condition}, {words}", 1000 * height[mine])
                )
        found += [
            summary("height of the stated", "", condition, height / stated),
            summary("width of a gap", "µm", condition, 1000 * width),
            summary("occlusal direction", "deg", condition, occlusal),
            summary("outward direction", "deg", condition, outward),
            summary("angle of the axis", "deg", condition, angle),
        ]
    return found


def _one(site, seed, noise_um):
    jaw, beside, span = GAPS[site]
    scan, other = (lower_arch, upper_arch) if jaw == "lower" else (upper_arch, lower_arch)
    options = {"triangles": TRIANGLES, "noise_um": noise_um}
    mesh = scan(seed, (site,), span=span, noise_seed=seed, **options)
    facing = ("27", "23") if jaw == "lower" else ("37", "33")
    opposing = other(seed, (), span=facing, noise_seed=seed + 1, **options)
    implant = mesh.implants[site]
    pose = Pose.of(implant.platform, implant.axis, implant.flat)
    frame = arch_frame(mesh.vertices, mesh.faces, site, pose)
    tooth = dentition(seed, jaw)[site]
    occlusal = np.array([0.0, 0.0, tooth.coronal])
    # Where a short stretch does not tell the sides, outward may be inward.
    outward = np.abs(frame.outward @ np.append(tooth.frame[2], 0.0))
    height, _ = room_height(site, pose, opposing.vertices, opposing.faces)
    width, _ = gap_width([site], {site: pose}, {site: frame}, mesh.vertices, mesh.faces)
    true, steep = _height(seed, jaw, pose)
    return (
        height.value - true,
        height.uncertainty,
        steep,
        width.value - _width(seed, jaw, beside),
        _angle(frame.occlusal @ occlusal),
        _angle(outward),
        axis_exit(site, pose, frame).value - _angle(pose.axis @ occlusal),
    )


def _angle(cosine):
    return np.degrees(np.arccos(np.clip(cosine, -1, 1)))


def _height(seed, jaw, pose):
    """Where the axis first meets the implicit shape of the opposing jaw, and how steeply."""
    other = upper_jaw(seed) if jaw == "lower" else lower_jaw(seed)

    def at(points):
        return other.field(points, *other.curve.locate(points[:, :2]))

    def field(z):
        return at(pose.origin_mm + np.atleast_1d(z)[:, None] * pose.axis)

    steps = np.arange(4.0, 20.0, 0.05)
    first = int(np.argmax(field(steps) < 0))
    height = brentq(lambda z: field(z)[0], steps[first - 1], steps[first], xtol=1e-6)
    place, small = pose.origin_mm + height * pose.axis, 1e-3 * np.eye(3)
    slope = at(place + small) - at(place - small)
    return height, _angle(abs(slope @ pose.axis) / np.linalg.norm(slope))


def _width(seed, jaw, beside):
    """The least distance of the neighbours' implicit crowns, from points settled on them."""
    one, two = (_surface(dentition(seed, jaw)[site]) for site in beside)
    return cKDTree(one).query(two)[0].min()


def _surface(tooth):
    steps = [
        np.linspace(-0.75 * tooth.width, 0.75 * tooth.width, 60),
        np.linspace(-0.6 * tooth.depth, 0.6 * tooth.depth, 50),
        np.linspace(0.3 * tooth.height, tooth.height, 40),
    ]
    grid = np.stack(np.meshgrid(*steps, indexing="ij"), axis=-1).reshape(-1, 3)
    foot, along, outward = tooth.frame
    plan = foot + grid[:, :1] * along + grid[:, 1:2] * outward
    points = np.column_stack([plan, tooth.neck_z + grid[:, 2] * tooth.coronal])
    points = points[np.abs(crown_field(tooth, points)) < 0.25]
    for _ in range(4):
        points = settle(points, lambda at: crown_field(tooth, at), 0.3)
    return points[np.abs(crown_field(tooth, points)) < 1e-4]
