"""Do typed rows become the units that were meant, and back?"""

import pytest

from orders.prescriptions.row_forms import rows_of
from orders.prescriptions.units import (
    normalised,
    objections_to_row,
    pieces_of,
    units_of_row,
)
from orders.teeth import ToothUnreadable, read_range


def test_row_of_a_bridge_stands_on_implants_but_for_its_pontic():
    units = units_of_row(read_range("45-47", "iso"), joined=True, pontics=["46"], piece=1)

    assert [(u["tooth"], u["kind"], u["on"]) for u in units] == [
        ("47", "retainer", "implant"),
        ("46", "pontic", ""),
        ("45", "retainer", "implant"),
    ]


def test_c17_typed_range_across_the_midline_is_six_units():
    units = units_of_row(read_range("13-23", "iso"), joined=True, pontics=["12", "22"])

    assert [u["tooth"] for u in units] == ["13", "12", "11", "21", "22", "23"]
    assert len(pieces_of(units)) == 1


def test_free_end_is_marked_on_its_pontics_only():
    units = units_of_row(["45", "46", "47"], joined=True, pontics=["47"], ends_free=True)

    assert [u.get("free", False) for u in units] == [True, False, False]


@pytest.mark.parametrize(
    "row, field",
    [
        ({"joined": False, "pontics": ["46"]}, "pontics"),
        ({"joined": True, "pontics": ["36"]}, "pontics"),
        ({"joined": True, "on_teeth": ["36"]}, "on_teeth"),
        ({"joined": True, "pontics": ["46"], "on_teeth": ["46"]}, "on_teeth"),
    ],
)
def test_row_against_itself_is_said_beside_its_field(row, field):
    (found,) = objections_to_row(["45", "46", "47"], **row)

    assert found[0] == field


def test_single_unit_is_no_joined_one():
    ((field, sentence),) = objections_to_row(["45"], joined=True)

    assert field == "joined"
    assert "single crown" in sentence


def test_rows_come_back_as_they_were_typed():
    units = [
        *units_of_row(["45", "46", "47"], joined=True, pontics=["46"], piece=1),
        *units_of_row(["35", "36"], joined=False, on_teeth=["35"]),
    ]

    first, second = rows_of(normalised(units))

    assert first["teeth"] == ("47", "46", "45")
    assert first["pontics"] == ("46",)
    assert second == {
        "teeth": ("35", "36"),
        "made_as": "single",
        "pontics": (),
        "on_teeth": ("35",),
        "ends_free": False,
    }


def test_stored_units_run_along_the_arch_and_hold_known_keys_only():
    units = normalised(
        [
            {"tooth": "45", "kind": "crown", "on": "implant", "colour": "red"},
            {"tooth": "46", "kind": "pontic", "on": "implant"},
        ]
    )

    assert units == [
        {"tooth": "46", "kind": "pontic", "on": ""},
        {"tooth": "45", "kind": "crown", "on": "implant"},
    ]


def test_what_is_no_tooth_is_refused():
    with pytest.raises(ToothUnreadable):
        normalised([{"tooth": "99", "kind": "crown", "on": "implant"}])
