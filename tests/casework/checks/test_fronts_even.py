"""Is found which front units are of odd proportion, uneven or off the middle?

Width to length 0.7 to 0.9, 0.5 mm between counterparts, 2 mm at the midline: common practice,
no source.
"""

import pytest

from casework.stages import guarded_by
from tests.casework.checks.good import findings, said_of
from tests.casework.checks.measures import measured, value

NAME = "fronts_even"


def test_guards():
    assert guarded_by(NAME) == {"submit_design", "approve_design"}


@pytest.mark.parametrize(
    ("row", "expected"),
    [
        (value("width_to_length", "11", 0.8, ""), []),
        (value("width_to_length", "11", 0.91, ""), ["note proportion 11"]),
        (value("width_to_length", "13", 0.69, ""), ["note proportion 13"]),
        (value("width_to_length", "14", 1.3, ""), []),  # behind the front nobody compares
        (value("pair_width_difference", "11-21", -0.5), []),
        (value("pair_width_difference", "11-21", -0.6), ["ask uneven 11-21"]),
        (value("pair_length_difference", "13-23", 0.6), ["ask uneven 13-23"]),
        (value("pair_length_difference", "16-26", 0.9), []),
        (value("midline_offset", "11-21", -2.0), []),
        (value("midline_offset", "11-21", -2.4, doubt=0.3), ["ask off_middle 11-21"]),
        (value("midline_offset", "11-21", 2.2, doubt=0.3), ["ask within_doubt 11-21"]),
    ],
)
def test_one_value(row, expected):
    assert said_of(NAME, row) == expected


def test_side_and_way_are_named():
    rows = [value("pair_width_difference", "11-21", 1), value("midline_offset", "11-21", -3)]

    uneven, off = findings(NAME, {"measured": measured(*rows)})

    assert (uneven.values["side"], off.values["way"]) == ("width", "left")
    assert (off.measured, off.limit) == ("3.00 mm", "2.00 mm")


def test_a_proportion_is_shown_as_a_share():
    (found,) = findings(NAME, {"measured": measured(value("width_to_length", "11", 0.912, ""))})

    assert (found.measured, found.limit) == ("91 %", "70 % to 90 %")


def test_nothing_measured_says_nothing():
    assert said_of(NAME) == []
