"""Is it said before retention is chosen that height, width or the way of a driver is short?

5 mm for a screw, 7 mm for cement, 5 mm a unit: common practice, no source. 25° of turned
channels: Eur J Dent 2022;16(3):488-499. 0.5 mm beside a driver is chosen by this service.
"""

import pytest

from casework.stages import guarded_by
from tests.casework.checks.good import findings
from tests.casework.checks.good import said_of as said_of_design
from tests.casework.checks.measures import measured, value

NAME = "room_known"
SCANS = {"files": []}  # nothing is designed


def said_of(*rows):
    return said_of_design(NAME, *rows, **SCANS)


def height(amount, doubt=0.02):
    return value("room_height_least", "45", amount, doubt=doubt)


def axis(region, amount=10):
    return value("axis_exit", "45", amount, "deg", region=region)


def driver(amount, doubt=0.0):
    return value("driver_path", "45", amount, doubt=doubt, at="file 3")


def test_guards():
    assert guarded_by(NAME) == {"send_order"}


@pytest.mark.parametrize(
    ("row", "expected"),
    [
        (height(7.1), []),
        (height(6.9), ["note low_for_cement 45"]),
        (height(5.0, doubt=0), ["note low_for_cement 45"]),
        (height(4.9), ["ask low 45"]),
        (height(4.99), ["ask within_doubt 45"]),
        (value("unit_width", "45-47", 5.0), []),
        (value("unit_width", "45-47", 4.9), ["ask narrow 45-47"]),
        (axis("occlusal"), []),
        (axis("palatal"), []),
        (axis(""), []),
        (axis("labial"), ["note points_out 45"]),
        (axis("occlusal", 26), ["note leans 45"]),
        (driver(0.5), []),
        (driver(0.4), ["ask driver_near 45"]),
        (driver(0.45, doubt=0.1), ["ask within_doubt 45"]),
        (driver(-0.1), ["ask driver_meets 45"]),
        (
            value("room_height_least", "45", None, because="No opposing scan is over it."),
            ["ask value_not_known 45"],
        ),
        (
            value("unit_width", "45-47", None, because="No tooth stands distal of it."),
            ["note value_not_known 45-47"],
        ),
        (
            value("driver_path", "45", None, because="The driver is not told."),
            ["note value_not_known 45"],
        ),
    ],
)
def test_one_value(row, expected):
    assert said_of(row) == expected


def test_what_the_driver_meets_is_named():
    (found,) = findings(NAME, {"measured": measured(driver(-1.25), **SCANS)})

    assert (found.measured, found.values["at"]) == ("-1.25 mm", "file 3")


def test_where_a_part_is_designed_its_own_check_judges_the_driver():
    assert said_of_design(NAME, driver(-0.1)) == []


def test_nothing_measured_says_nothing():
    assert said_of() == []
