"""Is a design found out that was made on another pose than the scan shows?

0.05 mm and 0.5° are chosen by this service; 0.5° are 0.09 mm at a height of 10 mm.
"""

import pytest

from casework.stages import guarded_by
from tests.casework.checks.good import findings, said_of
from tests.casework.checks.measures import measured, value

NAME = "poses_agree"


def test_guards():
    assert guarded_by(NAME) == {"submit_design", "approve_design"}


def shift(amount):
    return value("stated_pose_shift", "45", amount, step="sites")


def tilt(amount):
    return value("stated_pose_tilt", "45", amount, "deg", step="sites")


@pytest.mark.parametrize(
    ("rows", "expected"),
    [
        ([shift(0.05), tilt(0.5)], []),
        ([shift(0.06)], ["ask elsewhere 45"]),
        ([tilt(0.6)], ["ask tilted 45"]),
        # The platform measured is itself unsure by 20 µm.
        ([shift(0.06), value("implant_pose", "45", 20, "µm")], ["ask within_doubt 45"]),
        ([shift(None)], ["ask value_not_known 45"]),
        ([shift(0.06), value("implant_pose", "47", 20, "µm")], ["ask elsewhere 45"]),
    ],
)
def test_one_pose(rows, expected):
    assert said_of(NAME, *rows) == expected


def test_an_angle_is_shown_in_degrees():
    (found,) = findings(NAME, {"measured": measured(tilt(2.345))})

    assert (found.measured, found.limit) == ("2.3 °", "0.5 °")


def test_nothing_stated_says_nothing():
    assert said_of(NAME) == []
