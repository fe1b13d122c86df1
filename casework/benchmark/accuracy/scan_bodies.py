"""How exactly are scan bodies found and fitted, against the poses a scan was made from?"""

from functools import cache, partial
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import NamedTuple

import numpy as np

from casework.benchmark.accuracy import Row, summary
from casework.benchmark.scanned_bodies import (
    FLAT_TEXT,
    SLOPE_TEXT,
    Scanned,
    arch,
    prism_mesh,
    segment,
)
from casework.demo.meshes.writing import write_stl
from casework.measure.reading import read_mesh
from casework.measure.scan_bodies.finding import find_scan_bodies
from casework.measure.scan_bodies.forms import form_from_text, form_of_mesh

KINDS = ("flat", "slope", "prism")
# What is scanned, and which forms are sought; all of them are, wherever several are named.
CONDITIONS = {
    "whole arch of 570,000 triangles or more, 20 µm, 60 % seen": (
        partial(arch, triangles=570_000, noise_um=20, coverage=0.6), ("flat",),
    ),
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
    for noise_um in (20, 30)
    for coverage in (0.6, 0.4, 0.3)
}  # fmt: skip
WORDS = {
    "flat": "one flat",
    "slope": "bevelled to one side",
    "prism": "prism, its mesh from a file",
}
NEAR_MM = 1.0  # a form found nearer than this to a body is that body's


class Outcome(NamedTuple):
    """What became of the bodies of a scan, in its order, and of what else was found."""

    told: list  # errors of each body, None where its own form was not found on it
    taken: list  # the other form that each of those was taken for, None where it was missed
    more: int  # found where no body is, or beside another on one


@cache
def forms():
    """The reference forms, made without the fields that the scans are made from."""
    return {
        "flat": form_from_text(FLAT_TEXT),
        "slope": form_from_text(SLOPE_TEXT),
        "prism": _form_of_file(*prism_mesh()),
    }


def _form_of_file(vertices, faces):
    """The form of a mesh as it comes back from a binary STL, in single precision."""
    with TemporaryDirectory() as folder:
        path = Path(folder) / "form.stl"
        write_stl(path, vertices, faces)
        mesh = read_mesh(path, path.name)
    return form_of_mesh(mesh.vertices, mesh.faces)


def errors(scan: Scanned, sought) -> Outcome:
    """Errors of each body of a scan, and how many were missed, mistaken or too many.

    Each is (origin µm, axis deg, rotation deg or None where said not to be known), and the
    same stated as 95 %.
    """
    named = {name: forms()[name] for name in sought}
    found = list(find_scan_bodies(scan.vertices, scan.faces, named).found)
    told = []
    for kind, pose in scan.bodies:
        mine = _taken_out(found, pose, (kind,))
        told.append(_errors(mine, pose) if mine else None)
    taken = [None] * len(told)
    for place, (_kind, pose) in enumerate(scan.bodies):
        if told[place] is None:
            other = _taken_out(found, pose, sought)
            taken[place] = other.form if other else None
    return Outcome(told, taken, len(found))


def _taken_out(found, pose, kinds):
    """The first of those kinds found on a body, which is taken out of `found`; or None."""
    for place, one in enumerate(found):
        if one.form in kinds and _away(one, pose) < NEAR_MM:
            return found.pop(place)
    return None


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
    """Errors over seeded scans; bodies missed, mistaken and too many are counted.

    "Of the stated" is an error as a share of its stated 95 %: 95 of 100 should be below 1.
    """
    for condition in CONDITIONS:
        yield from rows_of(condition, seeds)


def rows_of(condition, seeds=30):
    """The rows of one of `CONDITIONS`."""
    make, sought = CONDITIONS[condition]
    bodies, more = [], []
    for seed in range(1, seeds + 1):
        scan = make(seed)
        outcome = errors(scan, sought)
        more.append(outcome.more)
        kinds = [kind for kind, _pose in scan.bodies]
        bodies += zip(kinds, outcome.told, outcome.taken, strict=True)
    yield _total("bodies too many", condition, more)
    for kind in KINDS:
        if mine := [(told, taken) for its, told, taken in bodies if its == kind]:
            yield from _of_kind(f"{condition}: {WORDS[kind]}", mine)


def _total(quantity, condition, counts):
    """The row of a number in all: it stands in the place of median, 95 % and worst."""
    return Row(quantity, "in all", condition, *[float(sum(counts))] * 3, len(counts))


def _of_kind(condition, every):
    found = [told for told, _taken in every if told is not None]
    missed = [told is None and taken is None for told, taken in every]
    yield _total("bodies missed", condition, missed)
    mistaken = [taken is not None for _told, taken in every]
    yield _total("bodies taken for another form", condition, mistaken)
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
