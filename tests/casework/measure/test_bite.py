"""Is the room between surfaces what it is, with noise, islands and in other frames?"""

import numpy as np
import pytest

from casework.measure.bite import clearance, clearance_field, jaws_in_bite
from tests.shapes import box, joined, rotation, sphere

UPPER = box(60, 45, 10, at=(-30, -22.5, 5.5))
LOWER = box(60, 45, 10, at=(-30, -22.5, -5))
DISTANCES = ("jaw_distance", "jaw_overlap_depth", "jaw_overlap_area", "jaw_contacts")


def value(rows, quantity):
    return next(row.value for row in rows if row.quantity == quantity)


def dome(radius=12.0, noise_mm=0.0, seed=0, edge=0.15, half=3.0):
    """An open cap around (0, 0, radius), its lowest point at the origin, facing down."""
    n = int(2 * half / edge)
    steps = np.linspace(-half, half, n + 1)
    x, y = np.meshgrid(steps, steps, indexing="ij")
    vertices = np.stack([x, y, radius - np.sqrt(radius**2 - x * x - y * y)], axis=-1)
    vertices = vertices.reshape(-1, 3)
    away = vertices - [0, 0, radius]
    amount = np.random.default_rng(seed).normal(0, noise_mm, len(vertices))
    vertices = vertices + away / radius * amount[:, None]
    i = (np.arange(n)[:, None] * (n + 1) + np.arange(n)[None, :]).ravel()
    return vertices, np.vstack(
        [
            np.stack([i, i + n + 2, i + n + 1], 1),
            np.stack([i, i + 1, i + n + 2], 1),
        ]
    )


@pytest.mark.parametrize("seed", range(3))
def test_a38_two_boxes_half_a_millimetre_apart(seed):
    turn = rotation(seed)

    rows = jaws_in_bite(UPPER[0] @ turn.T, UPPER[1], LOWER[0] @ turn.T, LOWER[1], "jaws")

    assert value(rows, "jaw_distance") == pytest.approx(0.5, abs=1e-6)
    assert value(rows, "jaw_overlap_depth") == 0
    assert value(rows, "jaw_contacts") == 0


def test_jaws_beyond_reach_of_each_other_touch_nowhere():
    rows = jaws_in_bite(
        *UPPER, LOWER[0] - [0, 0, 4], LOWER[1], "jaws", np.zeros(3), np.array([1.0, 0, 0])
    )

    assert value(rows, "jaw_distance") == pytest.approx(4.5, abs=1e-6)
    assert value(rows, "jaw_contacts") == value(rows, "jaw_overlap_area") == 0
    assert rows[-1].value is None and "Nowhere" in rows[-1].because


def test_a38_jaws_far_apart_are_not_in_one_frame():
    moved = LOWER[0] + [-30, -22.5, -65]

    rows = jaws_in_bite(*UPPER, moved, LOWER[1], "jaws")

    assert all(row.value is None for row in rows)
    assert "not in one frame" in rows[0].because
    assert "65.5 mm apart" in rows[0].because
    assert rows[0].details["gap_mm"] == pytest.approx(65.5, abs=1e-6)


@pytest.mark.parametrize("lift", [[0, 0, 5], [0, 0, 10.5], [4, 3, 9]])
def test_jaws_in_one_another_are_not_in_one_frame(lift):
    rows = jaws_in_bite(*UPPER, LOWER[0] + lift, LOWER[1], "jaws")

    assert all(row.value is None for row in rows)
    assert "lie in one another" in rows[0].because


def test_jaws_that_overlap_a_little_tell_depth_and_area():
    rows = jaws_in_bite(
        *UPPER, LOWER[0] + [0, 0, 0.56], LOWER[1], "jaws", np.array([10.0, 0, 0]),
        np.array([1.0, 0, 0]),
    )  # fmt: skip

    assert value(rows, "jaw_distance") == pytest.approx(-0.06, abs=1e-6)
    assert value(rows, "jaw_overlap_depth") == pytest.approx(0.06, abs=1e-6)
    assert value(rows, "jaw_overlap_area") == pytest.approx(60 * 45, rel=0.005)
    assert value(rows, "jaw_contacts") == 1
    # 20 of 60 mm lie right of the middle at 10.
    assert value(rows, "jaw_balance") == pytest.approx(1 / 3, abs=0.005)


def test_contacts_are_counted_apart():
    feet = joined(*(box(3, 3, 5, at=(x, y, 0.02)) for x in (-9, 9) for y in (-6, 6)))
    floor = box(40, 40, 5, at=(-20, -20, -5))

    rows = jaws_in_bite(*feet, *floor, "jaws")

    assert value(rows, "jaw_contacts") == 4
    places = next(row for row in rows if row.quantity == "jaw_contacts").details["places"]
    assert [place["area_mm2"] for place in places] == pytest.approx([9.0] * 4)


@pytest.mark.parametrize("gap", [1.4, 0.3, -0.2])
def test_two_balls_are_as_far_apart_as_their_radii_say(gap):
    turn = rotation(2)
    one, two = sphere(4.0, 160), sphere(3.0, 160)

    rows = clearance(*one, two[0] + turn @ [7 + gap, 0, 0], two[1], "15")

    assert value(rows, "clearance") == pytest.approx(gap, abs=0.004)  # facets lie inside
    assert value(rows, "overlap_depth") == pytest.approx(max(-gap, 0), abs=0.004)
    # Of two balls that cross, the cap of the one of 4 mm inside the other.
    height = max(-gap, 0) * (2 * 3 + gap) / (2 * (7 + gap))
    assert value(rows, "overlap_area") == pytest.approx(2 * np.pi * 4 * height, abs=0.05)


@pytest.mark.parametrize("seed", range(3))
def test_noise_is_taken_off_the_least_distance(seed):
    ball = sphere(5.0, 200)
    ball = ball[0] - [0, 0, 5.3], ball[1]
    scan = dome(noise_mm=0.02, seed=seed)

    rows = clearance(*ball, *scan, "26")

    row = next(row for row in rows if row.quantity == "clearance")
    assert row.details["raw_mm"] < 0.285
    assert row.details["noise_mm"] == pytest.approx(0.02, rel=0.1)
    assert row.value == pytest.approx(0.3, abs=0.01)
    assert abs(row.value - 0.3) < row.uncertainty


def test_islands_are_left_out_and_told():
    scan = dome(noise_mm=0.0)
    island = sphere(0.2, 12)
    ball = sphere(5.0, 100)
    ball = ball[0] - [0, 0, 5.3], ball[1]

    rows = clearance(*ball, *joined(scan, (island[0] - [0, 0, 0.2], island[1])), "26")

    assert value(rows, "clearance") == pytest.approx(0.3, abs=0.005)
    assert len(rows[0].details["islands_left_out_opposing_jaw"]) == 1


def test_a_design_beside_its_opponent_touches_nothing():
    rows = clearance(*sphere(3.0, 40), *dome(half=2.0), "26")
    far = clearance(*sphere(3.0, 40), dome()[0] + [0, 0, 200.0], dome()[1], "26")

    assert value(rows, "clearance") < 0
    assert value(far, "clearance") is None
    assert "not in one frame" in far[0].because


def test_behind_the_rim_of_an_open_scan_is_no_overlap():
    sheet = dome(radius=1000.0, half=2.0)
    ball = sphere(0.5, 40)

    # Beside the sheet and higher than it: behind it, but not in anything.
    rows = clearance(ball[0] + [2.8, 0, 0.3], ball[1], *sheet, "26")

    assert value(rows, "clearance") == pytest.approx(np.hypot(0.8, 0.3) - 0.5, abs=0.02)


def test_each_unit_has_its_own_clearance():
    units = joined(sphere(3.0, 80), (sphere(3.0, 80)[0] + [7, 0, -0.4], sphere(3.0, 80)[1]))
    floor = box(40, 40, 5, at=(-20, -20, 3.25))

    rows = clearance(
        *units, *floor, "bridge", ("15", "16"), lambda points: (points[:, 0] > 3.5) * 1
    )

    found = {row.subject: row.value for row in rows if row.quantity == "clearance"}
    assert found == pytest.approx({"bridge": 0.25, "15": 0.25, "16": 0.65}, abs=1e-6)


def test_the_field_is_the_signed_distance_to_a_box():
    ball = sphere(4.0, 60)
    field = clearance_field(*ball, *box(6, 6, 6, at=(3, -3, -3)), 1.5)

    # The distance to a box by its planes: elementary geometry.
    off = np.abs(ball[0] - [6, 0, 0]) - 3
    outside = np.linalg.norm(np.maximum(off, 0), axis=1)
    expected = np.where((off < 0).all(axis=1), off.max(axis=1), outside)
    known = np.isfinite(field)
    np.testing.assert_array_equal(known, np.abs(expected) <= 1.5)
    np.testing.assert_allclose(field[known], expected[known], atol=1e-9)


def test_a_mesh_without_faces_is_not_measured():
    empty = np.empty((0, 3)), np.empty((0, 3), int)

    for rows in (clearance(*empty, *dome(), "26"), jaws_in_bite(*dome(), *empty, "jaws")):
        assert all(row.value is None and row.because for row in rows)
