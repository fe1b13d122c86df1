"""Is a shade note that cannot be refused beside the field that is wrong?"""

from datetime import date

import pytest

from orders.shades.rules import objections_to_shade, read_tabs

TABS = ("L1", "L2", "L3")
TODAY = date(2026, 4, 1)
GOOD = {
    "cervical": "L3",
    "body": "L2",
    "incisal": "L1",
    "light": "daylight lamp",
    "light_k": 5500,
    "taken_on": TODAY,
    "whitening_ended_on": None,
}


def test_good_note_stands():
    assert objections_to_shade(GOOD, TABS, TODAY) == ()


@pytest.mark.parametrize(
    "field, value",
    [
        ("body", ""),
        ("body", "B9"),
        ("incisal", "l1"),
        ("light", ""),
        ("light_k", 55),
        ("taken_on", None),
        ("taken_on", date(2026, 4, 2)),
        ("whitening_ended_on", date(2026, 4, 2)),
    ],
)
def test_what_is_wrong_is_said_beside_its_field(field, value):
    found = objections_to_shade(GOOD | {field: value}, TABS, TODAY)

    assert [name for name, _sentence in found] == [field]


def test_tabs_are_read_in_their_order_each_once():
    assert read_tabs("L1, L2,\nL3,, L1 , L 4") == ("L1", "L2", "L3", "L 4")
