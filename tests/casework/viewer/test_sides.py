"""Directions on hand-made frames: x to the patient's right, y to the front, z up."""

from types import SimpleNamespace

import numpy as np
import pytest

from casework.viewer.sides import sides_of

RIGHT, FRONT, UP = np.eye(3)


def frame(occlusal, outward, because=""):
    return {"occlusal": list(occlusal), "outward": list(outward), "because": because}


def sides(*, preview=None, is_upper=False, frames=None, axes=()):
    return sides_of(preview=preview, is_upper=is_upper, frames=frames or {}, axes=list(axes))


@pytest.mark.parametrize(
    ("site", "is_upper", "outward"),
    [("36", False, -RIGHT), ("46", False, RIGHT), ("26", True, -RIGHT), ("16", True, RIGHT)],
)
def test_the_outer_side_of_back_teeth_tells_the_front(site, is_upper, outward):
    occlusal = -UP if is_upper else UP

    found = sides(is_upper=is_upper, frames={site: frame(occlusal, outward)})

    assert found["up"] == pytest.approx(UP) and found["front"] == pytest.approx(FRONT)


def test_the_outer_side_of_front_teeth_is_the_front():
    found = sides(is_upper=True, frames={"11": frame(-UP, FRONT)})

    assert found["front"] == pytest.approx(FRONT) and found["outward"] == pytest.approx(FRONT)


def test_a_whole_arch_tells_the_front_itself():
    arch = SimpleNamespace(facing=[0, 0, 1], front=[0.1, 1, 0.2])

    found = sides(preview=arch, frames={"46": frame(UP, -RIGHT)})

    assert found["front"] == pytest.approx(np.array([0.1, 1, 0]) / np.hypot(0.1, 1))


def test_implants_tell_up_where_no_teeth_do():
    found = sides(axes=[[0.1, 0, 1], [-0.1, 0, 1]])

    assert found["up"] == pytest.approx(UP) and found["outward"] is None


def test_sides_that_are_not_known_are_not_used():
    found = sides(frames={"36": frame(UP, RIGHT, because="straight")}, axes=[UP])

    assert found["outward"] is None and abs(np.dot(found["front"], UP)) < 1e-9


def test_with_nothing_there_are_still_sides_at_right_angles():
    found = sides()

    assert np.dot(found["up"], found["front"]) == pytest.approx(0)
    assert np.linalg.norm(found["front"]) == pytest.approx(1)
