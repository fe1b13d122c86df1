"""Is found what reaches into the opposing jaw, and is nothing judged below the bite's error?

Relief 0 to 30 µm: common practice, no source (reasons in Kim Y et al. 2005). Error of a
recorded bite 50 µm: Kakali L, Halazonetis DJ 2023, abstract read.
"""

import pytest

from casework.stages import guarded_by
from tests.casework.checks.good import findings, said_of
from tests.casework.checks.measures import measured, value

NAME = "bite_clear"


def test_guards():
    assert guarded_by(NAME) == {"submit_design", "approve_design"}


def clearance(amount, doubt=0.005, subject="file 20"):
    return value("clearance", subject, amount, doubt=doubt, step="bite")


@pytest.mark.parametrize(
    ("row", "expected"),
    [
        (clearance(0.02), []),
        (clearance(0.0), []),
        (clearance(0.03), []),
        (clearance(-0.01), ["note not_judged file 20"]),
        (clearance(-0.055), ["note not_judged file 20"]),
        (clearance(-0.056), ["ask reaches_in file 20"]),
        (clearance(-0.056, doubt=0.01), ["note not_judged file 20"]),
        (clearance(0.05), ["note not_judged file 20"]),
        (clearance(0.085), ["note not_judged file 20"]),
        (clearance(0.09), ["note stays_away file 20"]),
        (clearance(-0.4, subject="46"), ["ask reaches_in 46"]),
    ],
)
def test_one_clearance(row, expected):
    assert said_of(NAME, row) == expected


def test_units_stand_for_the_part_that_they_make_up():
    rows = [clearance(-0.4), clearance(-0.4, subject="46"), clearance(0.01, subject="45")]

    assert said_of(NAME, *rows) == ["ask reaches_in 46"]


def test_both_doubts_are_told():
    (found,) = findings(NAME, {"measured": measured(clearance(-0.2, doubt=0.01))})

    assert (found.measured, found.limit) == ("-200 µm", "0 µm to 30 µm")
    assert found.values["doubt"] == "60 µm"
    assert "2005" in found.source and "2023" in found.source


def test_jaws_in_two_frames_are_not_judged():
    because = "The design and the opposing jaw are not in one frame: they lie 65.5 mm apart."

    assert said_of(NAME, value("clearance", "file 20", None, because=because)) == [
        "ask value_not_known file 20"
    ]


def test_nothing_measured_says_nothing():
    assert said_of(NAME) == []
