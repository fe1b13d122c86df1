"""How exactly are scan bodies found and fitted, against the poses a scan was made from?"""

from functools import cache, partial

import numpy as np

from casework.benchmark.accuracy import summary
from casework.benchmark.scanned_bodies import (
    FLAT_TEXT,
    SLOPE_TEXT,
    Scanned,
    arch,
    prism_mesh,
    segment,
)
from casework.measure.scan_bodies.finding import find_scan_bodies
from casework.measure.scan_bodies.forms import form_from_text, form_of_mesh

KINDS = ("flat", "slope", "prism")
# What is scanned, and which forms are sought; all of them are, wherever several are named.
CONDITIONS = {
    "whole arch, 20 µm, 60 % seen": (partial(arch, noise_um=20, coverage=0.6), ("flat",)),
    "whole arch, 30 µm, 40 % seen": (partial(arch, noise_um=30, coverage=0.4), ("flat",)),
    "tilted up to 40°, 20 µm, 60 %": (
        partial(segment, kinds=("flat", "slope"), tilt_deg=40.0), ("flat", "slope"),
    ),
    "holes and islands, 20 µm, 60 %": (
        partial(segment, kinds=("flat", "slope"), damage=True), ("flat", "slope"),
    ),
} | {
    f"three kinds, {noise_um} µm, {coverage:.0%} seen": (
        partial(segment, kinds=KINDS, noise_um=noise_um, coverage=coverage), KINDS,
    )
    for noise_um in (10, 30)
    for coverage in (1.0, 0.6, 0.3)
}  # fmt: skip
WORDS = {"flat": "one flat", "slope": "bevelled to one side", "prism": "prism from a mesh"}
NEAR_MM = 1.0  # a form found nearer than this to a body is that body's


@cache
def forms():
    """The reference forms, made without the fields that the scans are made from."""
    return {
        "flat": form_from_text(FLAT_TEXT),
        "slope": form_from_text(SLOPE_TEXT),
        "prism": form_of_mesh(*prism_mesh()),
    }


def errors(scan: Scanned, sought):
    """Errors of each body of a scan, None where it was missed, and how many were too many.

    Each is (origin µm, axis deg, rotation deg or None where said not to be known), and the
    same stated as 95 %.
    """
    named = {name: forms()[name] for name in sought}
    found = list(find_scan_bodies(scan.vertices, scan.faces, named).found)
    told = []
    for kind, pose in scan.bodies:
        mine = [one for one in found if one.form == kind and _away(one, pose) < NEAR_MM]
        told.append(_errors(mine[0], pose) if mine else None)
        found = [one for one in found if one not in mine[:1]]
    return told, len(found)


def _away(one, pose):
    return np.linalg.norm(np.cross(one.pose.origin_mm - pose.origin_mm, pose.axis))


def _errors(one, pose):
    across = np.cross(pose.axis, pose.toward)
    turn = np.degrees(np.arctan2(one.pose.toward @ across, one.pose.toward @ pose.toward))
    tilt = np.linalg.norm(np.cross(one.pose.axis, pose.axis))
    real = (
        1000 * np.linalg.norm(one.pose.origin_mm - pose.origin_mm),
        np.degrees(np.arctan2(tilt, one.pose.axis @ pose.axis)),
        None if one.rotation_because else abs(turn),
    )
    return real, (one.origin_95_um, one.axis_95_deg, one.rotation_95_deg)


def rows(seeds=30):
    """Errors over seeded scans; bodies missed and bodies too many are rows of their own.

    "Of the stated" is an error as a share of its stated 95 %: 95 of 100 should be below 1.
    """
    for condition, (make, sought) in CONDITIONS.items():
        scans = [make(seed) for seed in range(1, seeds + 1)]
        told = [errors(scan, sought) for scan in scans]
        yield summary("bodies too many", "", condition, [more for _bodies, more in told])
        kinds = [kind for scan in scans for kind, _pose in scan.bodies]
        every = [one for bodies, _more in told for one in bodies]
        for kind in sorted(set(kinds), key=KINDS.index):
            mine = [one for one, its in zip(every, kinds, strict=True) if its == kind]
            yield from _of_kind(f"{condition}: {WORDS[kind]}", mine)


def _of_kind(condition, every):
    found = [one for one in every if one is not None]
    yield summary("bodies missed", "", condition, [one is None for one in every])
    for place, (quantity, unit) in enumerate(
        (("origin", "µm"), ("axis", "deg"), ("rotation, where known", "deg"))
    ):
        told = [
            (real[place], stated[place]) for real, stated in found if real[place] is not None
        ]
        if told:
            yield summary(quantity, unit, condition, [real for real, _stated in told])
            shares = [real / stated for real, stated in told if stated]
            yield summary(f"{quantity} of the stated", "", condition, shares)
