"""Do loops in a plane enclose and share what elementary geometry says?"""

import numpy as np
import pytest

from casework.measure.surfaces.outlines import (
    centroid,
    distances,
    owners,
    perimeter,
    signed_areas,
    turning,
    united,
    winding,
)


def loops(*parts):
    starts = np.concatenate([[0], np.cumsum([len(part) for part in parts])])
    return np.vstack(parts).astype(float), starts.astype(np.int64)


def square(size, at=(0, 0)):
    return np.array([(0, 0), (size, 0), (size, size), (0, size)]) + np.asarray(at, float)


def circle(radius, sides=200, at=(0, 0)):
    turns = 2 * np.pi * np.arange(sides) / sides
    return radius * np.stack([np.cos(turns), np.sin(turns)], axis=1) + np.asarray(at)


def test_a_square_with_a_square_hole():
    points, starts = loops(square(4, (10, 10)), square(2, (11, 11))[::-1])

    np.testing.assert_allclose(signed_areas(points, starts), [16, -4])
    np.testing.assert_allclose(centroid(points, starts), (12, 12))
    assert perimeter(points, starts) == pytest.approx(24)
    np.testing.assert_array_equal(owners(points, starts, signed_areas(points, starts)), [0, 0])
    assert winding(12.0, 12.0, points, starts[0], starts[1]) == 1
    assert winding(12.0, 12.0, points, starts[1], starts[2]) == -1
    assert winding(9.0, 12.0, points, starts[0], starts[1]) == 0


def test_a_place_outside_is_as_far_as_the_nearest_edge():
    points, starts = loops(square(4), square(1, (7, 0)))

    away = distances(points, starts, signed_areas(points, starts), 5.0, 2.0)

    np.testing.assert_allclose(away, [1.0, np.hypot(2, 1)])


def test_a_circle_turns_once_and_a_square_has_corners_only():
    assert turning(*loops(circle(3.0, 60))) == pytest.approx(2 * np.pi)
    assert turning(*loops(square(4))) == 0


def test_two_crossing_squares_are_united():
    points, starts = united(*loops(square(4), square(4, (2, 1))))

    assert len(starts) == 2
    assert signed_areas(points, starts).sum() == pytest.approx(32 - 2 * 3, rel=1e-5)
    assert perimeter(points, starts) == pytest.approx(2 * (6 + 5), rel=1e-5)


def test_a_square_within_another_vanishes():
    points, starts = united(*loops(square(4), square(1, (1, 1))))

    assert signed_areas(points, starts).sum() == pytest.approx(16, rel=1e-5)
    assert len(points) == 4


def test_squares_that_share_an_edge_become_one():
    points, starts = united(*loops(square(4), square(4, (4, 0))))

    assert signed_areas(points, starts).sum() == pytest.approx(32, rel=1e-5)
    assert perimeter(points, starts) == pytest.approx(24, rel=1e-4)


def test_a_bar_through_a_hole_leaves_two_holes():
    ring = square(10), square(6, (2, 2))[::-1]
    across = np.array([(-1, 4.5), (11, 4.5), (11, 5.5), (-1, 5.5)])

    points, starts = united(*loops(*ring, across))

    areas = signed_areas(points, starts)
    assert (areas < 0).sum() == 2
    assert areas.sum() == pytest.approx(100 - 36 + 6 + 2, rel=1e-5)


def test_loops_apart_come_back_as_they_are():
    points, starts = loops(square(1), square(1, (3, 0)))

    assert united(points, starts)[0] is points


@pytest.mark.parametrize("seed", range(5))
def test_many_circles_cover_what_counting_says(seed):
    random = np.random.default_rng(seed)
    centres, radii = random.uniform(0, 10, (12, 2)), random.uniform(0.5, 3, 12)
    points, starts = loops(*(circle(r, 150, at) for r, at in zip(radii, centres, strict=True)))

    area = signed_areas(*united(points, starts)).sum()

    step = 0.02
    grid = np.stack(np.meshgrid(*[np.arange(-4, 14, step)] * 2), axis=-1)
    covered = np.zeros(grid.shape[:2], bool)
    for r, at in zip(radii, centres, strict=True):
        covered |= ((grid - at) ** 2).sum(axis=-1) < r * r
    assert area == pytest.approx(covered.sum() * step**2, rel=0.002)
