"""Is a case seen from the right side, wherever it lies in space?"""

import numpy as np
import pytest

from casework.measurements.pictures.looking import across, distance, framing, outside, upward
from tests.casework.measurements.pictures import mouth


def test_up_is_the_mean_direction_of_the_implants():
    assert upward(mouth.poses(), mouth.shown()) == pytest.approx([0, 0, 1])


def test_without_implants_up_leads_from_the_arch_to_its_opponent():
    arches = mouth.shown()[:2]

    assert upward({}, arches) == pytest.approx([0, 0, 1], abs=0.05)
    turned = [mouth.Shown(o.name, o.role, (), -o.vertices, o.faces) for o in arches]
    assert upward({}, turned) == pytest.approx([0, 0, -1], abs=0.05)


def test_a_side_is_at_right_angles_to_the_axis_and_always_there():
    axis = np.array([0, 0, 1.0])

    assert across(np.array([3.0, 0, 7.0]), axis) == pytest.approx([1, 0, 0])
    assert across(np.array([0, 0.01, 7.0]), axis, np.array([0, 2.0, 1])) == pytest.approx(
        [0, 1, 0]
    )
    assert abs(across(np.zeros(3), axis) @ axis) < 1e-12


def test_a_surface_faces_away_from_its_body():
    bridge = mouth.shown()[-1]

    assert outside(bridge, np.array([-5.0, -4.0, 6.5]), np.ones(3)) == pytest.approx(
        [1, 1, 1]
    )  # no middle of a triangle near: what was given
    tube = mouth.shown()[2]
    faces = outside(tube, np.array([-3.0, 0.0, 2.0]), np.ones(3))
    assert faces[0] > 0.9


def test_a_frame_holds_every_point():
    points = mouth.shown()[-1].vertices
    camera = framing(points, np.array([1.0, 2, -3]), np.array([0, 0, 1.0]), (780, 560))

    seen = camera.on_screen(points, (780, 560))
    assert (seen[:, 0] > 0).all() and (seen[:, 0] < 780).all()
    assert (seen[:, 1] > 0).all() and (seen[:, 1] < 560).all()
    assert max(np.ptp(seen[:, 0]) / 780, np.ptp(seen[:, 1]) / 560) == pytest.approx(
        1 / 1.16, abs=0.01
    )


def test_a_distance_is_that_to_the_nearest_corner():
    tube = mouth.shown()[2]

    assert distance(tube, np.array([-5.0, 0, -4.0])) == pytest.approx(np.hypot(4.0, 1.05))
    empty = mouth.Shown("x", "crown", (), np.zeros((0, 3)), np.zeros((0, 3), int))
    assert distance(empty, np.zeros(3)) == np.inf
