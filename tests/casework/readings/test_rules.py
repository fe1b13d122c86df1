"""Is a reading that cannot be refused with a sentence that says why?"""

from datetime import date
from decimal import Decimal

import pytest

from casework.readings.rules import (
    QUANTITIES,
    objections_to_reading,
    objections_to_seating,
)

GOOD = {
    "quantity": "stability_quotient",
    "value": Decimal("71"),
    "direction": "mesial",
    "held": None,
    "measured_on": date(2026, 3, 1),
    "today": date(2026, 4, 1),
    "placed_on": date(2026, 1, 12),
}
TORQUE = {
    "quantity": "torque_test_ncm",
    "value": Decimal("35"),
    "direction": "forward",
    "held": True,
}


def test_quantities_are_those_the_checks_know():
    assert set(QUANTITIES) == {
        "stability_quotient",
        "insertion_torque_ncm",
        "torque_test_ncm",
        "probing_mm",
        "bone_level_mm",
        "bleeding",
        "mobility",
        "pus",
    }


@pytest.mark.parametrize(
    "reading",
    [
        {},
        {"value": Decimal("1")},
        {"value": Decimal("100")},
        TORQUE,
        {"quantity": "bleeding", "value": None, "direction": "", "held": False},
        {"quantity": "insertion_torque_ncm", "direction": "", "value": Decimal("40")},
    ],
)
def test_plausible_reading_passes(reading):
    assert objections_to_reading(**GOOD | reading) == ()


# The scale of the stability quotient runs from 1 to 100 (its published definition).
@pytest.mark.parametrize(
    "change, word",
    [
        ({"value": Decimal("0")}, "between 1 and 100"),
        ({"value": Decimal("101")}, "between 1 and 100"),
        ({"value": Decimal("710")}, "between 1 and 100"),
        ({"value": None}, "Type the stability quotient"),
        ({"direction": ""}, "in which direction"),
        ({"direction": "forward"}, "not forward"),
        ({"measured_on": date(2026, 4, 2)}, "still to come"),
        ({"measured_on": date(2026, 1, 11)}, "before the implant was placed"),
        ({"measured_on": None}, "Name the day"),
        ({"quantity": "colour"}, "no reading known"),
        (TORQUE | {"held": None}, "held without rotation"),
        ({"quantity": "pus", "value": Decimal(1), "direction": "", "held": True}, "yes or no"),
        ({"quantity": "mobility", "value": None, "direction": "", "held": None}, "yes or no"),
    ],
)
def test_entry_error_is_refused_with_a_sentence(change, word):
    sentences = objections_to_reading(**GOOD | change)

    assert any(word in sentence for sentence in sentences), sentences


@pytest.mark.parametrize(
    "told, stands",
    [
        ({"has_radiograph": True, "reason": "", "by": ""}, True),
        ({"has_radiograph": False, "reason": "seen", "by": "D."}, True),
        ({"has_radiograph": False, "reason": "", "by": ""}, True),
        ({"has_radiograph": False, "reason": "seen", "by": ""}, False),
        ({"has_radiograph": False, "reason": "", "by": "D."}, False),
        ({"has_radiograph": True, "reason": "seen", "by": "D."}, False),
    ],
)
def test_seating_is_told_one_way_and_by_name(told, stands):
    assert (objections_to_seating(**told) == ()) is stands
