"""Are two surfaces asked near places before far ones, and judged to be in one frame rightly?"""

import numpy as np
import pytest

from casework.measure.facing import places_of, relation
from casework.measure.surfaces.gaps import design_surface
from tests.shapes import box, joined, sphere

NEITHER = (False, False)


def between(first, second):
    return relation(design_surface(*first), design_surface(*second), "one", "other", NEITHER)


@pytest.mark.parametrize("gap", [0.1, 0.9, 1.9, 3.0, 9.0])
def test_a_distance_does_not_depend_on_how_far_was_asked(gap):
    found = between(box(), box(4, 4, 4, at=(3, 2, 6 + gap)))

    assert found.distance_mm == pytest.approx(gap, abs=1e-9)
    assert not found.because


def test_crossing_bars_are_nearest_where_they_cross():
    # Two edges: no corner of either is near.
    ridge = np.array(
        [[-9, -1, -1], [9, -1, -1], [-9, 1, -1], [9, 1, -1], [-9, 0, 0], [9, 0, 0]]
    )
    faces = np.array([[0, 2, 1], [1, 2, 3], [0, 1, 4], [1, 5, 4], [2, 4, 3], [3, 4, 5],
                      [0, 4, 2], [1, 3, 5]])  # fmt: skip
    other = ridge @ np.array([[0, 1, 0], [1, 0, 0], [0, 0, -1.0]]) + [0, 0, 0.25]

    found = between((ridge.astype(float), faces), (other, faces))

    assert found.distance_mm == pytest.approx(0.25, abs=1e-6)
    np.testing.assert_allclose(found.place_mm, (0, 0, 0), atol=1e-3)
    np.testing.assert_allclose(found.opposite_mm, (0, 0, 0.25), atol=1e-3)


@pytest.mark.parametrize("depth", [0.05, 0.3, 0.9])
def test_a_crown_that_is_too_high_is_measured_not_refused(depth):
    found = between(sphere(4.0, 120), box(20, 20, 10, at=(-10, -10, 4 - depth)))

    assert found.distance_mm == pytest.approx(-depth, abs=0.005)
    assert not found.because


def test_places_are_told_apart_with_their_deepest_point():
    studs = joined(box(2, 2, 3), box(2, 2, 3.1, at=(6, 0, 0)))
    found = between(studs, box(20, 20, 5, at=(-5, -5, 2.95)))

    places = places_of(found.gap, found.gap.is_overlap)

    assert [place["least_mm"] for place in places] == pytest.approx([-0.15, -0.05])
    # The end of 2 x 2, its rim counted by the points on it, and the sides that dip in.
    assert all(place["area_mm2"] == pytest.approx(4, rel=0.2) for place in places)
