"""Which lengths does a restoration get, and are they those it was made with?"""

import numpy as np
import pytest

from casework.benchmark.turned_parts import TurnedParts
from casework.measure.surfaces.poses import Pose
from casework.measurements.pictures.shown import Shown, with_lengths
from tests import shapes

GAP_MM = 0.06
POSES = {"36": Pose.of([0, 0, 0], [0, 0, 1])}


def scene(*, opposing=True, abutment=True):
    """A turned crown over its turned abutment, under a flat sheet 0.5 mm above it."""
    parts = TurnedParts(gap=GAP_MM)
    crown = Shown("file 2", "crown", ("36",), *parts.crown())
    vertices, faces = shapes.sheet(40, 40.0)
    vertices = vertices - vertices.mean(axis=0)
    vertices[:, 2] = crown.vertices[:, 2].max() + 0.5
    rows = [crown]
    if abutment:
        rows.append(Shown("file 1", "abutment", ("36",), *parts.abutment()))
    if opposing:  # its outer side looks down
        rows.append(Shown("file 3", "opposing_arch", (), vertices, faces[:, ::-1]))
    return rows


def test_gap_wall_and_clearance_are_those_of_the_bodies():
    crown, *others = with_lengths(scene(), POSES)

    assert set(crown.lengths_mm) == {"wall", "gap", "clearance"}
    assert np.nanmin(crown.lengths_mm["gap"]) == pytest.approx(GAP_MM, abs=0.001)
    assert np.nanmin(crown.lengths_mm["clearance"]) == pytest.approx(0.5, abs=0.01)
    assert all(len(mm) == len(crown.vertices) for mm in crown.lengths_mm.values())
    abutment, sheet = others
    assert set(abutment.lengths_mm) == {"room"} and not sheet.lengths_mm
    # Gap and wall lie along one normal: the room over the abutment is both together.
    parts = TurnedParts(gap=GAP_MM)
    room_mm = parts.gap + parts.wall
    assert np.nanmin(abutment.lengths_mm["room"]) == pytest.approx(room_mm, abs=0.003)


def test_without_abutment_the_thickness_stands_for_the_wall():
    (crown,) = with_lengths(scene(opposing=False, abutment=False), POSES)

    assert set(crown.lengths_mm) == {"thickness"}


def test_a_length_that_is_known_nowhere_is_left_out():
    rows = scene()
    far = Shown("file 3", "opposing_arch", (), rows[2].vertices + [0, 0, 30], rows[2].faces)

    crown, *_ = with_lengths([*rows[:2], far], POSES)
    assert set(crown.lengths_mm) == {"wall", "gap"}


def test_the_wall_around_a_channel_is_that_of_the_turned_abutment():
    """Least where the cone is thinnest: its radius at the top less that of the bore."""
    parts = TurnedParts(gap=GAP_MM)

    _crown, abutment, _sheet = with_lengths(scene(), POSES, straight={"36"})

    assert set(abutment.lengths_mm) == {"room", "channel"}
    least = parts.top[0] - parts.bore_radius
    assert np.nanmin(abutment.lengths_mm["channel"]) == pytest.approx(least, abs=1e-3)


def test_a_turned_channel_has_no_colours():
    _crown, abutment, _sheet = with_lengths(scene(), POSES, straight=())

    assert set(abutment.lengths_mm) == {"room"}
