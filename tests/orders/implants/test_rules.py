"""Is what is missing or impossible in an implant's record said?"""

from datetime import date
from decimal import Decimal

import pytest

from orders.implants.rules import implausible, missing_from, sites_named_twice

WHOLE = {
    "site": "45",
    "system": "Invented A",
    "connection": "cone 4",
    "platform": "regular",
    "platform_diameter_mm": Decimal("4.1"),
    "body_diameter_mm": Decimal("4.3"),
    "length_mm": Decimal("10"),
    "lot": "A-12/B",
    "identifier": "",
    "identified_how": "",
    "placed_on": date(2026, 1, 12),
}
TODAY = date(2026, 4, 1)


def codes(found):
    return [(one.code, one.weight) for one in found]


def test_whole_record_lacks_nothing():
    assert missing_from(WHOLE) == ()
    assert implausible(WHOLE, today=TODAY, present=["44", "46"]) == ()


@pytest.mark.parametrize(
    "change, code, weight",
    [
        ({"system": ""}, "system_unknown", "stop"),
        ({"platform": ""}, "part_unknown", "stop"),
        ({"length_mm": None}, "part_unknown", "stop"),
        ({"lot": ""}, "lot_unknown", "ask"),
        ({"placed_on": None}, "placed_on_unknown", "stop"),
    ],
)
def test_what_is_missing_is_named(change, code, weight):
    (found,) = missing_from(WHOLE | change)

    assert (found.code, found.weight, found.subject) == (code, weight, "45")
    assert "second premolar (ISO 45)" in found.sentence


def test_unknown_lot_is_enough_where_it_is_said_how_the_implant_was_identified():
    assert missing_from(WHOLE | {"lot": "", "identified_how": "radiograph of 2019"}) == ()


@pytest.mark.parametrize(
    "change, code, weight",
    [
        ({"body_diameter_mm": Decimal("43")}, "implausible", "ask"),
        ({"length_mm": Decimal("1")}, "implausible", "ask"),
        ({"placed_on": date(2026, 5, 1)}, "placed_in_future", "stop"),
        ({"placed_on": date(1950, 5, 1)}, "placed_before_birth", "stop"),
    ],
)
def test_impossible_entries_are_said(change, code, weight):
    found = implausible(WHOLE | change, today=TODAY, birth_date=date(1968, 4, 2))

    assert (code, weight) in codes(found)


def test_exchanged_figures_are_asked_about():
    found = implausible(WHOLE | {"body_diameter_mm": Decimal("6.8")}, today=TODAY)

    assert codes(found) == [("platform_wider", "ask")]


def test_limits_handed_in_win():
    assert implausible(WHOLE, today=TODAY, usual={}) == ()


def test_standing_tooth_at_the_site_stops():
    assert codes(implausible(WHOLE, today=TODAY, present=["45"])) == [
        ("tooth_standing", "stop")
    ]


def test_one_site_holds_one_implant():
    (found,) = sites_named_twice([WHOLE, WHOLE, WHOLE | {"site": "47"}])

    assert (found.code, found.subject) == ("site_twice", "45")
