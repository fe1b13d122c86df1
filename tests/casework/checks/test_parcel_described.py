"""Is a parcel found without parts, courier, arrival or disinfection?"""

from datetime import date, timedelta

import pytest

from casework.stages import guarded_by
from tests.casework.checks.good import TODAY, codes, good

NAME = "parcel_described"


def test_guards():
    assert guarded_by(NAME) == {
        "return_milled",
        "dispatch_for_try_in",
        "dispatch_for_delivery",
    }


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        ({"lines": []}, ["stop empty"]),
        ({"courier": ""}, ["stop no_courier"]),
        ({"expected_on": None}, ["stop no_arrival"]),
        ({"expected_on": TODAY}, []),
        ({"expected_on": TODAY - timedelta(days=1)}, ["stop arrival_past"]),
        ({"disinfected": False}, ["stop not_disinfected"]),
        ({"tracking": ""}, ["note no_tracking"]),
    ],
    ids=lambda value: str(value)[:50],
)
def test_parcel(changes, expected):
    facts = good()
    facts["parcel"] |= changes

    assert codes(NAME, facts) == expected


def test_milled_parts_are_disinfected_later():
    facts = good()
    facts["parcel"]["disinfected"] = False
    facts["move"]["name"] = "return_milled"

    assert codes(NAME, facts) == []


def test_no_parcel_stops():
    assert codes(NAME, good(parcel=None, today=date(2026, 6, 1))) == ["stop no_parcel"]
