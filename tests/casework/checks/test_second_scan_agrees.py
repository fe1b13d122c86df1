"""Is it found that a second, independent scan shows the implants elsewhere?

0.05 mm and 0.3° are chosen by this service; 0.3° are 0.05 mm at a height of 10 mm.
"""

import pytest

from casework.stages import guarded_by
from tests.casework.checks.good import findings, said_of
from tests.casework.checks.measures import measured, value

NAME = "second_scan_agrees"


def distance(amount):
    return value("second_scan_distance", "47-45", amount, step="second_scan")


def angle(amount):
    return value("second_scan_angle", "47-45", amount, "deg", step="second_scan")


def test_guards():
    assert guarded_by(NAME) == {"send_order"}


@pytest.mark.parametrize(
    ("rows", "expected"),
    [
        ([distance(0.05), angle(0.3)], []),
        ([distance(-0.05), angle(-0.3)], []),
        ([distance(0.06)], ["ask distance 47-45"]),
        ([distance(-0.06)], ["ask distance 47-45"]),
        ([angle(-0.31)], ["ask angle 47-45"]),
    ],
)
def test_two_scans(rows, expected):
    assert said_of(NAME, *rows) == expected


def test_implants_that_nothing_joins_bear_more():
    crowns = [
        {"tooth": tooth, "kind": "crown", "stands_on": "implant"} for tooth in ("45", "47")
    ]

    assert said_of(NAME, distance(0.2), files=[], units=crowns) == ["note distance 47-45"]


def test_the_difference_is_shown_without_its_sign():
    (found,) = findings(NAME, {"measured": measured(distance(-0.213))})

    assert (found.measured, found.limit) == ("0.21 mm", "0.05 mm")


def test_what_cannot_be_compared_asks():
    because = "1 scan bodies are in file 9 and 2 in the first scan: they cannot be compared."

    assert said_of(NAME, value("second_scan_distance", "47-45", None, because=because)) == [
        "ask value_not_known 47-45"
    ]


def test_nothing_measured_says_nothing():
    assert said_of(NAME) == []
