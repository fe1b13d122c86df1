"""Does what speaks against a prescription become findings, judged by the practice's limits?

Classes: ISO 6872:2015 Table 1, from memory. Depth of the margin: Gehrke P et al. BMC Oral
Health 2019, s12903-019-0809-2; 1.5 mm is common practice, no source.
"""

from dataclasses import replace
from decimal import Decimal

import pytest

from casework.checks import load
from casework.limits import limit
from casework.stages import guarded_by
from tests.casework.checks.good import codes, good, implant

NAME = "prescription_coherent"


def test_guards():
    assert guarded_by(NAME) == {"send_order"}


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        ({"strength_class": 4}, []),
        ({"strength_class": 3}, ["stop class_too_low 45-47"]),
        ({"retention": "cement", "margin_depth_mm": Decimal("1.0")}, []),
        ({"retention": "cement", "margin_depth_mm": Decimal("1.1")}, ["note margin_deep"]),
        ({"retention": "cement", "margin_depth_mm": Decimal("1.6")}, ["ask margin_too_deep"]),
        ({"look_waived": True}, ["stop look_waived"]),
        ({"gum_shade_wanted": True}, ["stop gum_shade_missing"]),
        ({"allergies": "zirconia"}, ["ask allergy_meets_material"]),
    ],
    ids=lambda value: str(value)[:70],
)
def test_prescription(changes, expected):
    facts = good()
    facts["prescription"] |= changes

    found = codes(NAME, facts)
    assert [one.replace("47-45", "45-47") for one in found] == expected


def test_a_practice_may_set_its_own_depth():
    facts = good()
    facts["prescription"] |= {"retention": "cement", "margin_depth_mm": Decimal("0.9")}

    def limits(name):
        return replace(limit(name), value=Decimal("0.5"))

    (found,) = load(NAME).run(facts, limits)
    assert (found.code, found.limit) == ("margin_deep", "0.5 mm")


def test_unit_without_its_implant_stops():
    assert codes(NAME, good(implants=[implant("45")])) == ["stop no_implant 47"]


def test_unknown_teeth_ask():
    assert codes(NAME, good(dentition=None)) == ["ask teeth_unknown"]


def test_what_is_not_there_is_judged_as_incomplete_elsewhere():
    assert codes(NAME, good(prescription=None)) == []


def test_a_day_that_passes_does_not_change_the_question():
    assert "today" not in load(NAME).reads
