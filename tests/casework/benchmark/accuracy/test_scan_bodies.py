"""Are scan bodies missed, mistaken and too many counted apart, and is none of a few seeds?"""

import numpy as np
import pytest

from casework.benchmark.accuracy import scan_bodies
from casework.benchmark.accuracy.scan_bodies import CONDITIONS, errors, forms, rows_of
from casework.benchmark.scanned_bodies import Scanned, prism_mesh, segment
from casework.measure.scan_bodies.finding import ScanBodies
from casework.measure.surfaces.poses import Pose


def body(form, away_mm):
    class Found:
        pose = Pose.of([away_mm, 0.0, 0.0], [0.0, 0.0, 1.0], [1.0, 0.0, 0.0])
        origin_95_um, axis_95_deg, rotation_95_deg, rotation_because = 5.0, 0.1, 0.2, ""

    Found.form = form
    return Found


def scan(*kinds):
    poses = [Pose.of([9.0 * k, 0.0, 0.0], [0.0, 0.0, 1.0], [1.0, 0.0, 0.0]) for k in range(3)]
    return Scanned(
        np.zeros((0, 3)), np.zeros((0, 3), int), list(zip(kinds, poses, strict=True))
    )


@pytest.mark.parametrize(
    "found,right,taken,more",
    [
        ([("flat", 0), ("slope", 9.01), ("prism", 18)], 3, [None, None, None], 0),
        ([("flat", 0), ("prism", 18)], 2, [None, None, None], 0),
        ([("flat", 0), ("flat", 9), ("prism", 18)], 2, [None, "flat", None], 0),
        ([("flat", 0), ("slope", 0), ("slope", 9), ("prism", 18)], 3, [None, None, None], 1),
        ([("flat", 4), ("slope", 9), ("prism", 18)], 2, [None, None, None], 1),
        ([("slope", 0), ("slope", 9), ("prism", 18)], 2, ["slope", None, None], 0),
    ],
)
def test_missed_mistaken_and_too_many_are_told_apart(monkeypatch, found, right, taken, more):
    """Counted by hand."""
    bodies = ScanBodies(tuple(body(*one) for one in found), ())
    monkeypatch.setattr(scan_bodies, "find_scan_bodies", lambda *_scan: bodies)
    outcome = errors(scan("flat", "slope", "prism"), ("flat", "slope", "prism"))
    assert sum(its is not None for its in outcome.told) == right
    assert outcome.taken == taken and outcome.more == more


def test_a_form_from_a_file_lies_where_its_corners_do():
    """Single precision rounds at 2^-24: of 7.5 mm that is 0.0005 µm."""
    corners, _faces = prism_mesh()
    found = forms()["prism"].nearest.closest(corners)
    assert found.is_found.all() and 0 < found.distance_mm.max() < 1e-6
    assert forms()["prism"].height_mm == 7.5


@pytest.mark.slow
def test_three_forms_at_20_um_of_which_60_percent_are_seen():
    told = list(rows_of("three kinds, 20 µm, 60% seen", 1))
    counts = [row for row in told if row.unit == "in all"]
    assert len(counts) == 7 and not any(row.worst for row in counts)
    for row in told:
        if row.quantity == "origin":
            assert row.worst < 20, row
        elif row.quantity == "axis":
            assert row.worst < 0.2, row


def test_the_conditions_name_what_they_are():
    make, _sought = CONDITIONS["whole arch of 570,000 triangles or more, 20 µm, 60 % seen"]
    assert make.keywords == {"triangles": 570_000, "noise_um": 20, "coverage": 0.6}
    for noise_um in (20, 30):
        for percent in (60, 40, 30):
            make, sought = CONDITIONS[f"three kinds, {noise_um} µm, {percent}% seen"]
            assert make.keywords["noise_um"] == noise_um
            assert make.keywords["coverage"] == percent / 100
            assert make.func is segment and sought == ("flat", "slope", "prism")
