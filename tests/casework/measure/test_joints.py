"""Are joints assigned to the right neighbours, whatever is told of the units?"""

import numpy as np
import pytest

from casework.measure.joints import along_the_arch, bridge_of
from casework.measure.surfaces.poses import Pose
from tests.shapes import bridge_of_ellipsoids

UP = np.array([0, 0, 1.0])
CENTRES = np.array([[0.0, 0, 0], [8, 0, 0], [16, 0, 0], [24, 0, 0]])
BODY = bridge_of_ellipsoids(CENTRES, (3.8, 5, 4), (1.5, 1.8, 2.1))
SITES = ("44", "45", "46", "47")


def middles(bridge):
    return [round(float(joint.place_mm[0])) for joint in bridge.joints]


@pytest.mark.parametrize("told", [
    {"44": 0, "47": 3}, {"45": 1, "46": 2}, {"44": 0}, {"47": 3},
    {"44": 0, "45": 1, "46": 2, "47": 3},
])  # fmt: skip
def test_any_told_units_give_the_order(told):
    for turned in (False, True):
        units = {site: CENTRES[3 - k if turned else k] for site, k in told.items()}

        found = bridge_of(*BODY, SITES, units, UP)

        assert found.order == "units"
        assert middles(found) == ([20, 12, 4] if turned else [4, 12, 20])


def test_a_tilted_implant_counts_where_it_points():
    # Its platform lies under the next unit, its axis passes through its own.
    pose = Pose.of(np.array([6.0, 0, -9]), np.array([-6.0, 0, 9]))

    found = bridge_of(*BODY, SITES, {"44": pose}, UP)

    assert middles(found) == [4, 12, 20]


def test_units_told_against_each_other_are_refused():
    units = {"44": CENTRES[1], "45": CENTRES[0], "46": CENTRES[3]}

    found = bridge_of(*BODY, SITES, units, UP)

    assert not found.joints
    assert "does not come after" in found.because


def test_too_few_units_between_told_ones_are_refused():
    units = {"44": CENTRES[0], "46": CENTRES[1]}

    found = bridge_of(*BODY, SITES, units, UP)

    assert "1 narrow places where 2 joints are expected" in found.because


def test_the_direction_runs_from_the_first_unit_to_the_second():
    for turned in (False, True):
        units = {"44": CENTRES[3 if turned else 0]}
        found = bridge_of(*BODY, SITES, units, UP)
        assert all((joint.along[0] < 0) == turned for joint in found.joints)


def test_teeth_follow_each_other_from_right_to_left():
    upper = ["18", "14", "11", "21", "25", "28"]
    lower = ["47", "41", "31", "36"]

    assert [along_the_arch(site) for site in upper] == [-8, -4, -1, 1, 5, 8]
    assert [along_the_arch(site) for site in lower] == [-7, -1, 1, 6]
