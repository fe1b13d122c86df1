"""Is the outer rim of a scan told apart from its holes, and is each hole placed and sized?"""

import numpy as np
import pytest

from casework.measure.borders import holes_of
from casework.measure.meshes import Mesh
from tests.shapes import box, joined, sheet


def holed(at, radius_mm):
    vertices, faces = sheet(cells=80, size=40.0)
    middles = vertices[faces].mean(axis=1)
    kept = np.linalg.norm(middles[:, :2] - at, axis=1) > radius_mm
    return Mesh(vertices, faces[kept].astype(np.int32))


def test_a_rim_is_no_hole():
    vertices, faces = sheet(cells=40, size=40.0)

    told = holes_of(Mesh(vertices, faces.astype(np.int32)), subject="scan")

    assert told.value == 0 and told.details["rim"]["length_mm"] > 160


def test_a_hole_is_told_with_place_and_span():
    told = holes_of(holed([20, 12], 3.0), subject="scan")

    assert told.value == 1
    np.testing.assert_allclose(told.place_mm[:2], [20, 12], atol=0.4)
    assert told.details["holes"][0]["span_mm"] == pytest.approx(6, abs=1.5)
    assert told.details["rim"] is not None


def test_a_hole_that_opens_to_the_rim_is_part_of_it():
    assert holes_of(holed([0, 20], 3.0), subject="scan").value == 0


def test_a_hole_in_a_closed_body_is_no_rim():
    vertices, faces = box(20, 20, 20)
    small, others = sheet(cells=30, size=3.0)
    body = joined((vertices, faces), (small + [5, 5, 25], others))
    open_box = Mesh(body[0], body[1][1:].astype(np.int32))

    told = holes_of(open_box, subject="part")

    # The box has the most area; the triangle that is gone spans all of a side, hence its rim.
    assert told.value == 1 and told.details["holes"][0]["span_mm"] < 5


def test_a_closed_body_has_neither():
    vertices, faces = box()

    told = holes_of(Mesh(vertices, faces.astype(np.int32)), subject="part")

    assert told.value == 0 and told.details["rim"] is None
