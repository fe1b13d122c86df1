"""Is the driver's room that of plain bodies, with the jaw opened as it is told?"""

import numpy as np
import pytest

from casework.measure.arch import ArchFrame
from casework.measure.drivers import (
    Hinge,
    Obstacle,
    driver_path,
    driver_solid,
    gum_height,
    opened,
    tip_height,
)
from casework.measure.surfaces.poses import Pose
from tests.casework.measure.plain_jaw import PlainJaw
from tests.shapes import box, joined, rotation, sheet

DRIVER = {
    "tip_diameter_mm": 1.2,
    "tip_length_mm": 1.5,
    "shank_diameter_mm": 2.0,
    "shank_length_mm": 16.5,
    "length_mm": 26.0,
    "handle_diameter_mm": 4.0,
}
SCREW = {"seat_height_mm": 1.0, "head_height_mm": 1.6}
TIP_MM = 1.8


def path(pose, working=None, opposing=None, opening_mm=40.0, screw=SCREW, **more):
    frame = ArchFrame(
        "46", pose.axis, pose.toward, np.cross(pose.axis, pose.toward), pose.origin_mm
    )
    return driver_path(
        "46", {"46": pose}, screw, DRIVER, frame, working, opposing, opening_mm, **more
    )


def placed(body, seed=1, name="scan"):
    turn = rotation(seed)
    pose = Pose.of(seed * np.array([5.0, 6, 7]), turn @ [0, 0, 1.0], turn @ [1.0, 0, 0])
    return Obstacle(name, pose.to_world(body[0]), body[1]), pose


def test_driver_is_stacked_from_its_dimensions():
    solid, missing = driver_solid(DRIVER)

    np.testing.assert_allclose(solid.steps, [[0, 1.5, 0.6], [1.5, 18, 1], [18, 26, 2]])
    assert missing == []
    assert driver_solid({"length_mm": 20.0})[1] == ["shank_diameter_mm"]
    # A handle that is not told is as thick as the shank.
    alone, _ = driver_solid({"length_mm": 20.0, "shank_diameter_mm": 2.0})
    np.testing.assert_allclose(alone.steps, [[0, 20, 1]])


def test_tip_stands_in_the_socket():
    assert tip_height(SCREW, 1.0) == pytest.approx(1.0 + 1.6 - 0.8)
    assert tip_height(SCREW | {"socket_depth_mm": 1.2}, 1.0) == pytest.approx(1.4)
    assert tip_height({}, 0.5) == 0.5


def test_wall_beside_the_shank_is_as_far_as_it_stands():
    working, pose = placed(box(5, 10, 30, at=(4.5, -5, 0)))

    found = path(pose, working)

    # The handle, radius 2, passes it 2.5 mm away.
    assert found.value == pytest.approx(2.5, abs=0.001)
    assert found.details["at"] == "scan"


def test_neighbour_that_leans_over_the_axis_is_in_the_way():
    ridge = box(30, 30, 1, at=(-15, -15, 0))
    working, pose = placed(joined(ridge, box(5, 10, 4, at=(0.4, -5, 7))))

    assert path(pose, working).value == pytest.approx(0.4 - 1.0, abs=0.001)


def test_gum_around_the_axis_gives_way_and_scan_bodies_are_left_out():
    ridge = box(30, 30, 3, at=(-15, -15, 0))
    body = box(4, 4, 9, at=(-2, -2, 1))
    tooth = box(5, 10, 9, at=(5.5, -5, 3))
    scan = joined(ridge, tooth)
    alone, pose = placed(fine(scan))
    with_body, _ = placed(fine(joined(scan, body)))

    assert path(pose, alone).value == pytest.approx(4.5, abs=0.01)
    assert path(pose, with_body).value < 0
    assert path(pose, with_body, has_bodies=True).value == pytest.approx(4.5, abs=0.01)


def fine(body, edge_mm=0.7):
    """The body with its triangles divided, as a scan has them."""
    import trimesh

    vertices, faces = trimesh.remesh.subdivide_to_size(*body, max_edge=edge_mm, max_iter=20)
    return vertices, faces


def test_opposing_jaw_is_lifted_by_what_is_left_of_the_opening_at_the_tooth():
    # At a first molar, 26 of 88 mm behind the front teeth.
    left = 40.0 * (1 - 26 / 88)
    roof, pose = placed(box(30, 30, 5, at=(-15, -15, 8)))

    found = path(pose, None, roof)

    assert found.value == pytest.approx(8 + left - (TIP_MM + 26), abs=0.001)
    assert "moved 28.2 mm" in found.details["opened"]
    # The place is told where the scan shows it, in the bite.
    assert pose.to_local(np.array([found.place_mm]))[0, 2] == pytest.approx(8.0)
    assert path(pose, None, roof, 10.0).value < 0


def test_jaw_opens_about_a_hinge_that_is_told():
    # Hinge along y, 80 mm behind the front teeth and level with them.
    hinge = Hinge(np.array([-80.0, 0, 0]), np.array([0, 1.0, 0]), np.zeros(3))

    motion, how = opened("46", 40.0, np.array([0, 0, 1.0]), hinge)

    front = motion.apply(np.zeros((1, 3)))[0]
    assert np.linalg.norm(front) == pytest.approx(40.0)
    assert front[2] > 0
    np.testing.assert_allclose(motion.apply(hinge.place_mm[None])[0], hinge.place_mm, atol=1e-9)
    # Half the opening is half the radius times the sine of half the angle.
    assert motion.angle_deg == pytest.approx(np.degrees(2 * np.arcsin(20 / 80)))
    assert "hinge" in how
    # Half way to the hinge it opens half as far.
    halfway = np.array([[-40.0, 0, 0]])
    assert np.linalg.norm(motion.apply(halfway) - halfway) == pytest.approx(20.0)


def test_noise_of_a_scan_is_smoothed_and_told():
    vertices, faces = sheet(cells=120, size=30.0)
    flat = vertices * [1, 1, 0] - [15, 15, 0]
    turned = flat[:, [2, 0, 1]] + [5.0, 0, 15.0]  # a wall across x, 5 mm from the axis
    random = np.random.default_rng(4)
    noisy = turned + random.normal(0, 0.02, (len(turned), 1)) * [1.0, 0, 0]
    working, pose = placed((noisy, faces))

    found = path(pose, working)

    assert found.details["raw_mm"] == pytest.approx(3.0 - 0.06, abs=0.03)
    assert found.value == pytest.approx(3.0, abs=0.025)
    assert 0.01 < found.uncertainty < 0.04


def test_neighbours_of_a_plain_jaw_leave_the_driver_through():
    jaw = PlainJaw(missing=("46",), seed=2, sides=60)
    pose = jaw.pose("46", depth_mm=11.0)

    found = path(pose, Obstacle("working", jaw.vertices, jaw.faces))

    # Between ellipsoids 10.4 mm apart, a shank of 2 mm.
    assert found.value == pytest.approx(5.2 - 1.0, abs=0.15)


def test_nothing_to_measure_against_is_said():
    pose = Pose.of([0, 0, 0], [0, 0, 1])

    assert not path(pose).is_known
    assert "shank" in driver_path("46", {"46": pose}, {}, {}, None, None, None, 40).because


def test_height_of_the_gum_is_that_of_the_ridge():
    vertices, faces = fine(box(30, 30, 3, at=(-15, -15, 0)))

    assert gum_height(vertices[faces].mean(axis=1)) == pytest.approx(3.0)
    assert gum_height(np.zeros((0, 3))) == 0.0
