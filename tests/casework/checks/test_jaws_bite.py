"""Is found what no bite can be: deep overlap, no contact, contacts on one side alone?

50 µm of overlap are within the error of a bite scan (Kakali L, Halazonetis DJ 2023); from 100
on a new one is asked for, a bound chosen by this service.
"""

import pytest

from casework.stages import guarded_by
from tests.casework.checks.good import findings, said_of
from tests.casework.checks.measures import measured, value

NAME = "jaws_bite"
JAWS = "file 3"


def test_guards():
    assert guarded_by(NAME) == {"send_scans", "send_order"}


def depth(amount, doubt=0.01):
    return value("jaw_overlap_depth", JAWS, amount, doubt=doubt, step="bite")


@pytest.mark.parametrize(
    ("row", "expected"),
    [
        (depth(0.03), []),
        (depth(0.05, doubt=0), []),
        (depth(0.055), [f"note within_doubt {JAWS}"]),
        (depth(0.07), [f"note slight_overlap {JAWS}"]),
        (depth(0.1, doubt=0), [f"note slight_overlap {JAWS}"]),
        (depth(0.095), [f"ask within_doubt {JAWS}"]),
        (depth(0.115), [f"ask overlap {JAWS}"]),
        (value("jaw_balance", JAWS, 0.5, ""), []),
        (value("jaw_balance", JAWS, 0.95, ""), [f"note one_sided {JAWS}"]),
        (value("jaw_balance", JAWS, 0.05, ""), [f"note one_sided {JAWS}"]),
        (value("jaw_balance", JAWS, None, "", because="The middle is not known."), []),
    ],
)
def test_one_value(row, expected):
    assert said_of(NAME, row) == expected


@pytest.mark.parametrize(
    ("amount", "doubt", "expected"),
    [
        (0.05, 0.0, []),
        (0.08, 0.01, ["ask off_bite_scan opposing jaw"]),
        (0.055, 0.01, ["ask within_doubt opposing jaw"]),
    ],
)
def test_a_jaw_that_lies_off_the_bite_scan_asks(amount, doubt, expected):
    # Error of a recorded bite up to 50 µm: Kakali L, Halazonetis DJ 2023.
    assert (
        said_of(NAME, value("bite_scan_shift", "opposing jaw", amount, doubt=doubt)) == expected
    )


def test_overlap_is_shown_with_its_limit():
    (found,) = findings(NAME, {"measured": measured(depth(0.231))})

    assert (found.measured, found.limit) == ("231 µm", "100 µm")


def test_the_side_of_the_contacts_is_named():
    (found,) = findings(NAME, {"measured": measured(value("jaw_balance", JAWS, 0.97, ""))})

    assert (found.values["side"], found.measured) == ("right", "97 %")
    assert found.limit == "10 % to 90 %"


def test_jaws_that_touch_nowhere_ask_with_their_distance():
    (found,) = findings(NAME, {"measured": measured(value("jaw_distance", JAWS, 0.5))})

    assert (found.weight, found.code, found.measured) == ("ask", "no_contact", "500 µm")


@pytest.mark.parametrize(
    ("amount", "doubt", "expected"),
    [
        (-0.03, 0.01, []),
        (0.05, 0.0, []),
        (0.055, 0.01, []),
        (0.07, 0.01, ["ask no_contact jaws"]),
    ],
)
def test_jaws_nearer_than_a_bite_errs_may_touch(amount, doubt, expected):
    assert said_of(NAME, value("jaw_distance", "jaws", amount, doubt=doubt)) == expected


def test_jaws_in_two_frames_ask_once():
    because = (
        "The working jaw and the opposing jaw are not in one frame: they lie 65.5 mm apart."
    )
    rows = [
        value(name, JAWS, None, because=because)
        for name in ("jaw_distance", "jaw_overlap_depth", "jaw_contacts")
    ]

    assert said_of(NAME, *rows) == [f"ask value_not_known {JAWS}"]


def test_nothing_measured_says_nothing():
    assert said_of(NAME) == []
