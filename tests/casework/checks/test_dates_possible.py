"""Is a wanted day found that is past, closed or too near?

Ten days: common practice, no source.
"""

from datetime import date

import pytest

from casework.stages import guarded_by
from tests.casework.checks.good import codes, findings, good

NAME = "dates_possible"


def test_guards():
    assert guarded_by(NAME) == {"send_order"}


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        ({"working_days_left": 10}, []),
        ({"working_days_left": 9}, ["ask too_few_days"]),
        ({"wanted_is_working_day": False}, ["ask closed"]),
        ({"knows_holidays": False}, ["note holidays_not_known"]),
        ({"is_past": True, "working_days_left": 0}, ["stop past"]),
        ({"wanted_on": None, "is_past": None, "working_days_left": None}, []),
    ],
    ids=lambda value: str(value)[:60],
)
def test_day(changes, expected):
    facts = good()
    facts["calendar"] |= changes

    assert codes(NAME, facts) == expected


def test_days_left_are_shown_with_the_limit():
    facts = good()
    facts["calendar"] |= {"working_days_left": 3, "wanted_on": date(2026, 6, 4)}

    (found,) = findings(NAME, facts)
    assert (found.measured, found.limit) == ("3 days", "10 days")


def test_rush_is_noted():
    facts = good()
    facts["calendar"]["working_days_left"] = 3
    facts["prescription"]["is_rush"] = True

    assert codes(NAME, facts) == ["note rush"]
