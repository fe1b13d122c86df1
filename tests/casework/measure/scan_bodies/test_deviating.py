"""Is it told by how much a body differs from the form it was taken for?"""

import pytest

from casework.measure.scan_bodies.deviating import deviations
from casework.measure.scan_bodies.laying import settle
from tests.casework.measure.scan_bodies.bodies import POSE, body, laid_on


def offsets(**dimensions):
    """Offsets of the sides where a body of other dimensions is taken for the flat form."""
    right = laid_on(*body())
    vertices, faces = body(**dimensions)
    from casework.measure.scan_bodies.scans import prepared

    laid = settle(prepared(vertices, faces), POSE, right.known)
    return deviations(laid)


def of_kind(found, kind):
    return [side for side in found.sides if side.kind == kind]


def test_the_own_form_does_not_deviate():
    found = offsets()
    assert {"wall", "flat", "top"} <= {side.kind for side in found.sides}
    assert not any(side.deviates for side in found.sides)
    assert found.misfit_mm < 0.01


@pytest.mark.parametrize("diameter_mm", [4.2, 4.4, 4.7])
def test_another_diameter_is_told(diameter_mm):
    """A wall of another diameter lies off by half of the difference."""
    (wall,) = of_kind(offsets(diameter_mm=diameter_mm), "wall")
    assert wall.offset_mm == pytest.approx((diameter_mm - 4.5) / 2, abs=0.01)
    assert wall.deviates and f"{diameter_mm:.2f} mm wide" in wall.sentence


@pytest.mark.parametrize("depth_mm", [0.5, 0.9])
def test_another_flat_is_told(depth_mm):
    (flat,) = of_kind(offsets(flat_depth_mm=depth_mm), "flat")
    assert flat.offset_mm == pytest.approx(0.7 - depth_mm, abs=0.015)
    assert flat.deviates and ("farther" in flat.sentence)
