"""Are circles fitted to outlines as round as these are?"""

import numpy as np
import pytest

from casework.measure.embrasures import STEP_MM, outline_radius, radii_along
from casework.measure.surfaces.sections import Sections
from tests.shapes import box, cylinder


def arc(radius, length=3.0):
    turns = np.arange(0, length / radius, STEP_MM / radius)
    return radius * np.stack([np.cos(turns), np.sin(turns)], axis=1)


@pytest.mark.parametrize("radius", [0.25, 0.5, 1.0, 2.5, 10.0])
def test_an_arc_has_its_radius_on_both_sides(radius):
    outwards, _ = radii_along(arc(radius))
    inwards, _ = radii_along(arc(radius)[::-1])

    np.testing.assert_allclose(outwards, radius, rtol=0.005)
    np.testing.assert_allclose(inwards, -radius, rtol=0.005)


def test_a_straight_line_has_none():
    line = np.stack([np.arange(0, 3, STEP_MM), np.zeros(150)], axis=1)

    radii, places = radii_along(line)

    assert (np.abs(radii) > 1e3).all()
    assert len(places) == len(radii) == 120


def test_a_little_winding_is_not_taken_for_a_small_circle():
    x = np.arange(0, 3, STEP_MM)
    line = np.stack([x, 0.004 * np.sin(x * 12)], axis=1)

    assert np.abs(radii_along(line)[0]).min() > 1.0


def test_the_outline_of_a_section_is_as_round_as_its_body():
    section = Sections(*cylinder(1.7, 6, 200)).cut((0, 0, 3), (0, 0, 1))
    assert outline_radius(section) == pytest.approx(1.7, rel=0.01)

    square = Sections(*box(3, 3, 3)).cut((1, 1, 1), (0, 0, 1))
    assert outline_radius(square) < 0.3

    empty = Sections(*box(3, 3, 3)).cut((9, 9, 9), (0, 0, 1))
    assert outline_radius(empty) is None
