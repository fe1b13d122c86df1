"""Do screw and driver pass a channel of known dimensions, and is what blocks them named?"""

import numpy as np
import pytest

from casework.benchmark.bored_parts import FLAT, abutment
from casework.measure.arch import ArchFrame
from casework.measure.channels import Part, channel_of, legs_of
from casework.measure.screws import QUANTITIES, channel_wall_field, measure_screw
from casework.measure.surfaces.poses import Pose
from tests.casework.measure.placing import placed
from tests.shapes import box, cylinder, joined, tube, turned_profile

UM = 1e-3
SCREW = {
    "head_diameter_mm": 1.8,
    "head_height_mm": 1.6,
    "seat_height_mm": 1.0,
    "shank_diameter_mm": 1.3,
    "length_mm": 8.2,
}
DRIVER = {
    "tip_diameter_mm": 1.2,
    "tip_length_mm": 1.5,
    "shank_diameter_mm": 1.7,
    "shank_length_mm": 16.0,
    "length_mm": 26.0,
    "handle_diameter_mm": 4.0,
}


def measured(parts, pose, screw=SCREW, driver=DRIVER, **more):
    parts = [parts] if isinstance(parts, Part) else parts
    found = {}
    for one in measure_screw("45", pose, parts, screw, driver, **more):
        found.setdefault(one.quantity, one)
    return found


def test_screw_and_driver_pass_a_stepped_bore_with_the_clearances_it_leaves():
    part, pose = placed(abutment(), seed=3)

    found = measured(part, pose)

    assert found["screw_channel_radius"].value == pytest.approx(0.75 * FLAT, abs=1e-6)
    assert found["screw_channel_radius"].details["shank_clearance_mm"] == pytest.approx(
        0.75 * FLAT - 0.65, abs=1e-6
    )
    assert found["screw_head_rest"].value == pytest.approx(1.0, abs=1e-6)
    assert found["screw_seat_gap"].value == pytest.approx(0.0, abs=1e-6)
    assert found["screw_head_clearance"].value == pytest.approx(1.05 * FLAT - 0.9, abs=1e-6)
    assert found["driver_clearance"].value == pytest.approx(1.05 * FLAT - 0.85, abs=1e-6)
    assert found["channel_wall"].value == pytest.approx(1.2, abs=UM)


def test_a_head_wider_than_its_bore_stays_on_top_and_says_where():
    part, pose = placed(abutment(top=7.0))

    found = measured(part, pose, SCREW | {"head_diameter_mm": 2.3})

    assert found["screw_seat_gap"].value == pytest.approx(6.0, abs=1e-6)
    assert found["screw_seat_gap"].details["rest_mm"] == pytest.approx(7.0, abs=1e-6)
    assert found["screw_head_clearance"].value == pytest.approx(1.05 * FLAT - 1.15, abs=1e-6)
    assert pose.to_local(np.array([found["screw_seat_gap"].place_mm]))[0, 2] == pytest.approx(7)


def test_a_bump_in_the_bore_holds_the_head_at_its_upper_end():
    body = joined(abutment(), box(0.5, 0.4, 0.3, at=(0.8, -0.2, 3.0)))
    part, pose = placed(body, seed=2, name="abutment-45.stl")

    found = measured(part, pose)

    assert found["screw_head_rest"].value == pytest.approx(3.3, abs=1e-6)
    assert found["screw_seat_gap"].value == pytest.approx(2.3, abs=1e-6)
    clear = found["screw_head_clearance"]
    assert clear.value == pytest.approx(0.8 - 0.9, abs=1e-6)
    assert clear.details["part"] == "abutment-45.stl"
    assert 3.0 <= clear.details["height_mm"] <= 3.3


def test_a_seat_that_is_not_told_is_found_as_the_lowest_narrow_place():
    part, pose = placed(joined(abutment(seat=1.4), box(0.5, 0.4, 0.3, at=(0.8, -0.2, 3.0))))
    screw = {"head_diameter_mm": 1.8}

    found = measured(part, pose, screw)

    gap = found["screw_seat_gap"]
    assert gap.details["seat_height_mm"] == pytest.approx(1.4, abs=1e-6)
    assert gap.details["seat_is"].startswith("found")
    assert gap.value == pytest.approx(3.3 - 1.4, abs=1e-6)


def test_a_seat_set_lower_than_told_lets_the_head_sink():
    part, pose = placed(abutment(seat=0.6))

    assert measured(part, pose)["screw_seat_gap"].value == pytest.approx(-0.4, abs=1e-6)


def test_a_bore_without_a_seat_does_not_hold_the_head():
    part, pose = placed(turned_profile(
        [(1.05, -1.0), (2.5, -1.0), (2.5, 6.0), (1.05, 6.0), (1.05, -1.0)], 64
    ))  # fmt: skip

    found = measured(part, pose)

    assert not found["screw_head_rest"].is_known
    assert "holds" in found["screw_head_rest"].because
    assert not found["screw_seat_gap"].is_known


def test_a_closed_roof_blocks_the_axis_and_is_named():
    under, pose = placed(abutment(top=5.0), name="abutment-45.stl")
    cap = cylinder(3.0, 2.0)
    over = placed((cap[0] + [0, 0, 5.5], cap[1]), name="bridge.stl")[0]

    found = measured([under, over], pose)

    free = found["screw_channel_radius"]
    assert free.value == 0.0 and free.details["is_blocked"]
    assert free.details["part"] == "bridge.stl"
    assert 5.5 <= free.details["height_mm"] <= 7.5
    assert found["screw_head_rest"].details["part"] == "bridge.stl"


def test_a_second_part_on_top_is_passed_too():
    under, pose = placed(abutment(top=5.0), name="abutment-45.stl")
    ring = turned_profile([(1.0, 5.1), (3.5, 5.1), (3.5, 9.0), (1.0, 9.0), (1.0, 5.1)], 256)
    over = placed(ring, name="bridge.stl")[0]

    found = measured([over, under], pose)
    walls = [
        one for one in measure_screw("45", pose, [over, under], SCREW, DRIVER)
        if one.quantity == "channel_wall"
    ]  # fmt: skip

    assert found["screw_head_clearance"].value == pytest.approx(1.0 * FLAT - 0.9, abs=1e-6)
    assert found["screw_head_clearance"].details["part"] == "bridge.stl"
    assert {one.details["part"]: round(one.value, 2) for one in walls} == {
        "abutment-45.stl": 1.2,
        "bridge.stl": 2.5,
    }


def test_handle_over_a_narrow_rim_is_part_of_the_driver():
    part, pose = placed(abutment(top=7.0))
    short = DRIVER | {"shank_length_mm": 2.0}

    found = measured(part, pose, driver=short)

    # Tip from 1.8, shank from 3.3, handle from 5.3: under the top of the post.
    assert found["driver_clearance"].value == pytest.approx(1.05 * FLAT - 2.0, abs=1e-6)
    assert found["driver_clearance"].details["height_mm"] >= 5.3


def test_a_turned_channel_is_passed_around_its_own_axis():
    tilt = np.radians(25)
    turn = np.array(
        [[np.cos(tilt), 0, np.sin(tilt)], [0, 1, 0], [-np.sin(tilt), 0, np.cos(tilt)]]
    )
    under, pose = placed(abutment(top=2.6, bore=1.2), name="abutment-45.stl")
    ring = turned_profile([(1.25, 0.6), (3.5, 0.6), (3.5, 6.0), (1.25, 6.0), (1.25, 0.6)], 256)
    bend = np.array([0, 0, 2.6])
    over = placed((ring[0] @ turn.T + bend, ring[1]), name="crown.stl")[0]
    axis = pose.rigid.rotation @ turn @ [0, 0, 1.0]

    straight = measured([under, over], pose)
    turned = measured([under, over], pose, channel_axis=axis)

    assert straight["driver_clearance"].value < 0
    assert turned["driver_clearance"].value == pytest.approx(1.25 * FLAT - 0.85, abs=1e-6)
    assert turned["screw_head_rest"].value == pytest.approx(1.0, abs=1e-6)
    assert not turned["screw_head_rest"].details["is_in_turned_channel"]


def test_region_of_the_wall_is_named_by_the_arch():
    part, pose = placed(abutment(shift=0.4), seed=4)
    frame = ArchFrame(
        "11", pose.axis, pose.toward, np.cross(pose.axis, pose.toward), pose.origin_mm
    )

    wall = measured(part, pose, frame=frame)["channel_wall"]

    # The outside is shifted toward x, outward: the thin wall is on the other side.
    assert wall.details["region"] == "palatal"
    assert wall.value == pytest.approx(0.8, abs=UM)


@pytest.mark.parametrize(("outer", "reads"), [(5.0, None), (5.3, "at least")])
def test_a_wall_thicker_than_is_looked_at_is_at_least_that(outer, reads):
    bored = tube(outer=outer, inner=1.1, height=8.0, sides=256)
    part, pose = placed(bored, 1)

    wall = measured(part, pose)["channel_wall"]

    assert wall.value == pytest.approx(min(outer - 1.1, 4.0), abs=UM)
    assert wall.details.get("reads") == reads


def test_what_is_not_told_is_not_guessed():
    part, pose = placed(abutment())

    found = measured(part, pose, {}, {})

    assert found["screw_channel_radius"].is_known
    assert found["channel_wall"].is_known
    for name in ("screw_head_rest", "screw_seat_gap", "screw_head_clearance"):
        assert "head" in found[name].because
    assert "shank_diameter_mm" in found["driver_clearance"].because
    assert "scan" in found["channel_exit"].because


def test_parts_elsewhere_are_not_meant():
    part, pose = placed(abutment())
    away = Pose.of(pose.origin_mm + 20 * pose.toward, pose.axis)

    found = measure_screw("45", away, [part], SCREW, DRIVER)

    assert [one.quantity for one in found] == [one.name for one in QUANTITIES]
    assert all("ISO 45" in one.because for one in found)


def test_wall_field_lies_on_the_bore_alone():
    part, pose = placed(abutment(shift=0.3))

    field = channel_wall_field(part, legs_of(pose, 0.0)[0])

    channel = channel_of(part, legs_of(pose, 0.0)[0], 0.3)
    known = np.isfinite(field)
    assert known.any() and not known.all()
    assert np.nanmin(field) == pytest.approx(channel.wall()[0], abs=UM)
    radius = np.hypot(*pose.to_local(part.vertices[known])[:, :2].T)
    assert (radius < 1.06).all()
