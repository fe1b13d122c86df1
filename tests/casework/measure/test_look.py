"""Are units as wide and long as they were made, and pairs compared side by side?"""

import numpy as np
import pytest

from casework.measure.arch import ArchFrame
from casework.measure.joints import bridge_of
from casework.measure.look import look, shape_of_crown, shapes_of_bridge
from casework.measure.midlines import Midline
from tests.shapes import box, bridge_of_ellipsoids, ellipsoid, rotation

UP = np.array([0, 0, 1.0])
SITES = ("13", "12", "11", "21", "22", "23")


def values(rows, quantity):
    return {row.subject: row.value for row in rows if row.quantity == quantity}


def crown(site, width, length, x, turn):
    vertices, faces = ellipsoid((width / 2, 3.0, length / 2), 120, (x, 20, 0), None)
    frame = ArchFrame(
        site, turn @ UP, turn @ [0, 1.0, 0], turn @ [1.0, 0, 0], turn @ [x, 20, 0]
    )
    return shape_of_crown(vertices @ turn.T, faces, frame)


@pytest.mark.parametrize("seed", range(3))
def test_a_crown_is_as_wide_and_long_as_it_was_made(seed):
    turn = rotation(seed)

    rows = look([crown("11", 8.4, 10.4, 4.2, turn)], turn @ UP)

    assert values(rows, "crown_width")["11"] == pytest.approx(8.4, abs=0.01)
    # Of an ellipsoid, the side seen ends a little before its tips.
    assert values(rows, "crown_length")["11"] == pytest.approx(10.4, abs=0.6)
    ratio = values(rows, "width_to_length")["11"]
    assert ratio == pytest.approx(8.4 / values(rows, "crown_length")["11"])


def test_pairs_are_compared_right_less_left():
    one = np.eye(3)
    shapes = [crown("11", 8.6, 10.4, 4.3, one), crown("21", 8.2, 10.4, -4.1, one)]

    rows = look(shapes, UP, Midline(np.array([0.3, 0, 0]), np.array([1.0, 0, 0]), 0.1))

    assert values(rows, "pair_width_difference")["11-21"] == pytest.approx(0.4, abs=0.01)
    assert values(rows, "pair_length_difference")["11-21"] == pytest.approx(0, abs=0.05)
    # The crowns meet at 0, the middle of the arch lies 0.3 to the right.
    assert values(rows, "midline_offset")["11-21"] == pytest.approx(-0.3, abs=0.01)


def test_without_a_midline_its_offset_is_not_known():
    one = np.eye(3)
    rows = look([crown("41", 5, 9, 2.5, one), crown("31", 5, 9, -2.5, one)], UP)

    row = next(row for row in rows if row.quantity == "midline_offset")
    assert row.value is None
    assert row.because


def test_what_lies_in_the_gum_does_not_count():
    tall = box(8, 6, 12, at=(-4, 17, -6))
    frame = ArchFrame("11", UP, np.array([0, 1.0, 0]), np.array([1.0, 0, 0]), np.zeros(3))
    n = 60
    steps = np.linspace(-30, 30, n + 1)
    x, y = np.meshgrid(steps, steps + 20, indexing="ij")
    level = np.stack([x, y, np.full_like(x, -4.0)], axis=-1).reshape(-1, 3)
    i = (np.arange(n)[:, None] * (n + 1) + np.arange(n)[None, :]).ravel()
    gum = np.vstack(
        [np.stack([i, i + n + 1, i + n + 2], 1), np.stack([i, i + n + 2, i + 1], 1)]
    )
    shape = shape_of_crown(*tall, frame)

    deep = values(look([shape], UP), "crown_length")["11"]
    seen = values(look([shape], UP, None, (level, gum)), "crown_length")["11"]

    assert deep == pytest.approx(12)
    assert seen == pytest.approx(10, abs=0.2)


def front(widths, seed):
    """Six units of given widths on a circle of 22 mm, from the patient's right (+x)."""
    spans = np.array(widths) / 22.0
    ends = np.concatenate([[0], np.cumsum(spans)]) - spans.sum() / 2
    turns = -(ends[1:] + ends[:-1]) / 2
    centres = 22 * np.stack([np.sin(turns), np.cos(turns), 0 * turns], axis=1)
    frames = [
        np.array([[np.cos(t), np.sin(t), 0], [-np.sin(t), np.cos(t), 0], [0, 0, 1]])
        for t in turns
    ]
    vertices, faces = bridge_of_ellipsoids(centres, (2.9, 3.0, 5.0), [1.5] * 5, turns=frames)
    turn = rotation(seed)
    return vertices @ turn.T, faces, centres @ turn.T, turn


@pytest.mark.parametrize("seed", range(2))
def test_the_units_of_a_bridge_are_cut_at_its_joints(seed):
    widths = (7.6, 6.6, 8.6, 8.4, 6.4, 7.6)
    vertices, faces, centres, turn = front(widths, seed)
    occlusal = -turn @ UP  # an upper bridge
    found = bridge_of(vertices, faces, SITES, {"13": centres[0]}, occlusal)

    rows = look(shapes_of_bridge(vertices, faces, found, SITES, occlusal), occlusal)

    measured = values(rows, "crown_width")
    # From the middle of one bar to that of the next, within what a bar leaves open.
    steps = np.linalg.norm(np.diff(centres, axis=0), axis=1)
    for k, site in enumerate(SITES[1:-1], start=1):
        assert measured[site] == pytest.approx((steps[k - 1] + steps[k]) / 2, abs=0.6)
    assert set(values(rows, "pair_width_difference")) == {"13-23", "12-22", "11-21"}


def test_which_side_is_the_lips_is_not_guessed_of_a_straight_bridge():
    centres = np.array([[0.0, 0, 0], [8, 0, 0]])
    vertices, faces = bridge_of_ellipsoids(centres, (3.8, 3, 5), (1.6,))
    found = bridge_of(vertices, faces, ("11", "21"), {"11": centres[1]}, -UP)

    rows = look(shapes_of_bridge(vertices, faces, found, ("11", "21"), -UP), -UP)

    assert all(value is None for value in values(rows, "crown_length").values())
    assert all(value is not None for value in values(rows, "crown_width").values())
