"""Lengths at the corners of a preview: balls in balls, whose distances are known."""

import numpy as np
import pytest
import trimesh

from casework.measurements.fields import CHANGE, UNKNOWN_UM, fields_of, packed, unpacked
from casework.measurements.pictures.shown import Shown


def ball(radius_mm, name="file 1", lengths=None, level=4):
    mesh = trimesh.creation.icosphere(level, radius=radius_mm)
    return Shown(name, "crown", ("36",), mesh.vertices, mesh.faces, lengths or {})


def um_of(row):
    return np.frombuffer(unpacked(row["um"]), "<i2")


def test_lengths_come_back_in_whole_micrometres():
    lengths = np.array([0.0, 1.2345, -0.0006, 40.0, -40.0, np.nan, np.inf])

    back = np.frombuffer(unpacked(packed(lengths)), "<i2")

    assert back.tolist() == [0, 1234, -1, 32767, -32767, UNKNOWN_UM, UNKNOWN_UM]


@pytest.mark.parametrize(("before_mm", "change_um"), [(4.9, 100), (5.2, -200), (5.0, 0)])
def test_change_is_outward_positive(before_mm, change_um):
    now, before = ball(5.0), ball(before_mm, "file 0")

    rows = fields_of([now], {"file 1": before}, lambda name: now.vertices, {})

    assert [row["name"] for row in rows] == [CHANGE]
    # Between its corners a ball of triangles lies within 13 µm of the true one.
    assert um_of(rows[0]) == pytest.approx(change_um, abs=14)


def test_what_lies_out_of_reach_is_not_known():
    now, before = ball(5.0), ball(2.0, "file 0")

    rows = fields_of([now], {"file 1": before}, lambda name: now.vertices, {})

    assert set(um_of(rows[0])) == {UNKNOWN_UM}


def test_each_corner_of_the_preview_takes_the_nearest_of_the_whole():
    whole = ball(5.0)
    height = whole.vertices[:, 2].copy()
    whole = ball(5.0, lengths={"wall": height})
    small = ball(5.0, level=2).vertices * 1.0001

    (row,) = fields_of([whole], {}, lambda name: small, {"file 1": {"wall": [("axial", 0.5)]}})

    assert um_of(row) == pytest.approx(1000 * small[:, 2], abs=2)
    assert row["limits"] == [("axial", 0.5)]


def test_a_part_without_preview_has_no_colours():
    whole = ball(5.0, lengths={"wall": np.ones(2562)})

    assert fields_of([whole], {}, lambda name: None, {}) == []
