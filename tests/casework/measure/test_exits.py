"""Does an axis come out where the body says, on the side the arch says?"""

import numpy as np
import pytest

from casework.benchmark.bored_parts import abutment, cone_with_slanted_top
from casework.measure.arch import ArchFrame
from casework.measure.channels import channel_of, legs_of
from casework.measure.exits import channel_exit, channel_turn
from tests.casework.measure.placing import placed
from tests.shapes import box


def frame_of(pose, site, tilt_deg=0.0):
    """Outward is toward x of the part; the occlusal direction leans that way."""
    t = np.radians(tilt_deg)
    turn = pose.rigid.rotation
    occlusal, outward = turn @ [np.sin(t), 0, np.cos(t)], turn @ [np.cos(t), 0, -np.sin(t)]
    return ArchFrame(site, occlusal, outward, np.cross(occlusal, outward), pose.origin_mm)


def exit_of(part, pose, frame):
    legs = legs_of(pose, 2.0)
    channels = [one for one in [channel_of(part, legs[0], 0.3)] if one.is_found]
    return channel_exit("11", channels, [part], legs[0], frame)


@pytest.mark.parametrize("site, tilt_deg, region", [
    ("11", 0, "incisal"), ("11", 55, "palatal"), ("11", -55, "labial"), ("46", 30, "occlusal"),
    ("46", 55, "lingual"), ("46", -55, "buccal"), ("26", 55, "palatal"),
])  # fmt: skip
def test_side_of_the_exit_is_that_toward_which_the_surface_looks(site, tilt_deg, region):
    # The top rises toward x by the tilt and looks toward -x; negative tilts rise toward -x.
    body = cone_with_slanted_top(3.5, 0.1, 6.0, 1.1, abs(tilt_deg))
    if tilt_deg < 0:
        body = body[0] * [-1, -1, 1], body[1]
    part, pose = placed(body, seed=2)

    found = exit_of(part, pose, frame_of(pose, site))

    assert found.details["region"] == region
    assert found.value == pytest.approx(0.0, abs=1e-6)
    local = pose.to_local(np.array([found.place_mm]))[0]
    np.testing.assert_allclose(local, [0, 0, 6.0], atol=0.05)


def test_angle_of_the_exit_is_that_to_the_occlusal_direction():
    part, pose = placed(cone_with_slanted_top(3.5, 0.1, 6.0, 1.1, 0))

    found = exit_of(part, pose, frame_of(pose, "46", 12.0))

    assert found.value == pytest.approx(12.0)
    assert found.details["outward_deg"] == pytest.approx(-12.0)
    assert found.details["distal_deg"] == pytest.approx(0.0, abs=1e-9)


def test_axis_through_a_closed_part_comes_out_of_its_upper_side():
    part, pose = placed(box(6, 6, 8, at=(-3, -3, 0)))

    found = exit_of(part, pose, frame_of(pose, "46"))

    assert found.details["region"] == "occlusal"
    local = pose.to_local(np.array([found.place_mm]))[0]
    np.testing.assert_allclose(local, [0, 0, 8], atol=1e-9)


def test_without_the_arch_the_exit_has_a_place_and_no_side():
    part, pose = placed(box(6, 6, 8, at=(-3, -3, 0)))

    found = exit_of(part, pose, None)

    assert not found.is_known and found.place_mm is not None


def test_turn_to_the_middle_of_an_occlusal_surface_is_that_of_the_triangle():
    # The middle of the top lies 2.5 mm beside the axis, 6 mm above the bend.
    part, pose = placed(box(6, 6, 8, at=(-0.5, -3, 0)), seed=5)

    found = channel_turn("46", pose, 2.0, [part], frame_of(pose, "46"))

    assert found.value == pytest.approx(np.degrees(np.arctan(2.5 / 6)), abs=1e-6)
    assert found.details["toward"] == "buccal"
    np.testing.assert_allclose(
        pose.to_local(np.array([found.place_mm]))[0], [2.5, 0, 8], atol=1e-9
    )


def test_the_seat_of_a_channel_is_no_occlusal_surface():
    # Straight down from the middle of the top, 8 degrees off the axis, lies the screw's seat.
    part, pose = placed(abutment(bore=1.05, seat=1.0, shaft=0.75, top=7.0), seed=5)

    found = channel_turn("46", pose, 2.0, [part], frame_of(pose, "46", 8.0))

    up, aside = np.cos(np.radians(8)), np.sin(np.radians(8))
    rim = 2.25 * aside  # the rim rises by so much from the middle
    expected = np.degrees(np.arctan2(rim * aside, 5 + rim * up))
    assert found.value == pytest.approx(expected, abs=0.02)


def test_front_tooth_is_left_behind_its_biting_edge():
    # A wedge: its edge stands over x = 1, the palatal side falls 2 mm per mm from it.
    vertices = np.array([
        [-3, -3, 0], [3, -3, 0], [3, 3, 0], [-3, 3, 0], [1, -3, 8], [1, 3, 8],
    ], float)  # fmt: skip
    faces = np.array([
        [0, 2, 1], [0, 3, 2], [0, 4, 5], [0, 5, 3], [1, 2, 5], [1, 5, 4], [0, 1, 4], [2, 3, 5],
    ])  # fmt: skip
    part, pose = placed((vertices, faces), seed=3)

    found = channel_turn("11", pose, 2.0, [part], frame_of(pose, "11"), palatal_mm=2.0)

    # 2 mm behind the edge, on the side, which is 4 mm lower there: at x = -1, z = 4.
    np.testing.assert_allclose(
        pose.to_local(np.array([found.place_mm]))[0], [-1, 0, 4], atol=0.05
    )
    assert found.value == pytest.approx(np.degrees(np.arctan(1 / 2)), abs=1)
    assert found.details["toward"] == "palatal"
    assert found.details["wanted"] == "2 mm palatal of the incisal edge"


def test_no_place_is_wanted_where_the_sides_are_not_known():
    part, pose = placed(box(6, 6, 8, at=(-3, -3, 0)))
    frame = frame_of(pose, "11")
    doubtful = ArchFrame(
        "11", frame.occlusal, frame.outward, frame.distal, frame.middle_mm, "It is straight."
    )

    assert channel_turn("11", pose, 2.0, [part], doubtful).because == "It is straight."
    assert not channel_turn("11", pose, 2.0, [part], None).is_known
