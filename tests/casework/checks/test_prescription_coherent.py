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
from orders.prescriptions.sentences import INCOHERENT
from tests.casework.checks.good import codes, findings, good, implant

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


def unit(tooth, kind="retainer", on="implant", **more):
    return {"tooth": tooth, "kind": kind, "on": "" if kind == "pontic" else on} | more


PONTIC = "pontic"
ONE_PIECE = {"level": "implant", "engaging": True, "build": "one piece"}
# Changes of the prescription that speak against it, by the code they must be found as.
AGAINST = {
    "unknown_tooth": {"units": [unit("49")]},
    "unknown_kind": {"units": [unit("45", "inlay")]},
    "tooth_twice": {"units": [unit("45"), unit("45")]},
    "two_jaws": {"units": [unit("45", "crown"), unit("15", "crown")]},
    "bridge_with_gap": {"units": [unit("45", piece=1), unit("47", piece=1)]},
    "bridge_without_retainer": {"units": [unit("46", PONTIC)]},
    "lone_retainer": {"units": [unit("45")]},
    "pontic_free": {"units": [unit("45"), unit("46", PONTIC)]},
    "cantilever_stated": {"units": [unit("45"), unit("46", PONTIC, free=True)]},
    "cantilever_long": {
        "units": [unit("45"), unit("46", PONTIC, free=True), unit("47", PONTIC, free=True)]
    },
    "no_implant": {"units": [unit("46", "crown")]},
    "no_tooth": {"units": [unit("46", "crown", "tooth")]},
    "tooth_unprepared": {"units": [unit("44", "crown", "tooth")]},
    "tooth_in_the_way": {"units": [unit("44", "crown")]},
    "pontic_over_implant": {"units": [unit("45", PONTIC), unit("46"), unit("47")]},
    "tooth_and_implant_joined": {"units": [unit("44", on="tooth"), unit("45")]},
    "site_without_unit": {"sites": {"46": {}}},
    "class_too_low": {"strength_class": 3},
    "class_impossible": {"strength_class": 9},
    "material_limit_unknown": {"material_family": "polymer"},
    "margin_deep": {"retention": "cement", "margin_depth_mm": Decimal("1.2")},
    "margin_too_deep": {"retention": "cement", "margin_depth_mm": Decimal("2")},
    "margin_negative": {"retention": "cement", "margin_depth_mm": Decimal("-1")},
    "margin_not_needed": {"margin_depth_mm": Decimal("0.5")},
    "one_piece_cemented": {"retention": "cement", "sites": {"45": ONE_PIECE}},
    "intermediate_cemented": {
        "retention": "cement",
        "sites": {"45": ONE_PIECE | {"level": "intermediate abutment", "build": ""}},
    },
    "engaging_when_joined": {"sites": {"45": ONE_PIECE, "47": ONE_PIECE}},
    "ceramic_without_base": {"sites": {"45": ONE_PIECE}},
    "look_waived": {"look_waived": True},
    "allergy_meets_material": {"allergies": "zirconia"},
    "pontic_form_without_pontic": {"units": [unit("45", "crown")]},
    "gum_shade_missing": {"gum_shade_wanted": True},
}
# The day wanted is judged by its own check; unknown teeth have a test above.
ELSEWHERE = {"wanted_in_past", "teeth_unknown"}


def test_every_rule_has_an_example():
    assert set(AGAINST) | ELSEWHERE == set(INCOHERENT)


@pytest.mark.parametrize("code", sorted(AGAINST))
def test_whatever_a_rule_finds_can_be_said(code):
    facts = good()
    facts["prescription"] |= AGAINST[code]

    assert code in {found.code for found in findings(NAME, facts)}
