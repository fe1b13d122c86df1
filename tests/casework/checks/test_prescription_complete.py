"""Does what a prescription lacks become findings with the rules' own words?"""

import pytest

from casework.stages import guarded_by
from orders.prescriptions.rules import missing_from
from orders.prescriptions.sentences import MISSING
from tests.casework.checks.good import codes, findings, good

NAME = "prescription_complete"


def test_guards():
    assert guarded_by(NAME) == {"send_order"}


def test_no_prescription_stops():
    assert codes(NAME, good(prescription=None)) == ["stop no_prescription"]


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        ({"material_family": "", "strength_class": None}, ["stop field_missing"]),
        ({"strength_class": None}, ["stop class_missing"]),
        ({"retention": "cement"}, ["stop margin_depth_missing"]),
        ({"pontic_form": ""}, ["stop pontic_form_missing"]),
        ({"allergies": ""}, ["stop allergies_unanswered"]),
        ({"fee": ""}, ["ask fee_missing"]),
        (
            {"sites": {}},
            ["stop site_field_missing 45"] * 4 + ["stop site_field_missing 47"] * 4,
        ),
    ],
    ids=lambda value: str(value)[:60],
)
def test_prescription(changes, expected):
    facts = good()
    facts["prescription"] |= changes

    assert codes(NAME, facts) == expected


def test_an_empty_draft_says_all_it_lacks():
    facts = good()
    empty = dict.fromkeys(facts["prescription"], "") | {"units": [], "sites": {}}
    facts["prescription"] |= empty

    found = findings(NAME, facts)
    assert len(found) == len(missing_from(facts["prescription"]))
    assert {one.code for one in found} <= set(MISSING)
