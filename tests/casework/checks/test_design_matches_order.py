"""Is a design found that is not what was ordered, or stands on parts that do not fit?"""

import pytest

from casework.stages import guarded_by
from tests.casework.checks.good import codes, design_part, good

NAME = "design_matches_order"


def test_guards():
    assert guarded_by(NAME) == {"submit_design"}


def with_parts(*parts):
    facts = good()
    stock = [part for part in facts["design"]["parts"] if part["component"] is not None]
    facts["design"]["parts"] = [*parts, *stock]
    return facts


def test_unit_left_out_stops():
    assert codes(NAME, with_parts(design_part("bridge", ["45", "46"]))) == [
        "stop unit_missing 47",
        "stop joined_otherwise 47-45",
    ]


def test_unit_not_ordered_stops():
    found = codes(NAME, with_parts(design_part("bridge", ["44", "45", "46", "47"])))

    assert found == ["stop unit_not_ordered 44", "stop joined_otherwise 47-45"]


def test_bridge_designed_as_crowns_stops():
    crowns = [design_part("crown", [tooth]) for tooth in ("45", "46", "47")]

    assert codes(NAME, with_parts(*crowns)) == ["stop joined_otherwise 47-45"]


def test_missing_screw_and_abutment_stop():
    facts = good()
    facts["design"]["parts"] = facts["design"]["parts"][:1]

    assert codes(NAME, facts) == [
        "stop abutment_missing 45",
        "stop screw_missing 45",
        "stop abutment_missing 47",
        "stop screw_missing 47",
    ]


def test_base_that_was_ordered_asks():
    facts = good()
    facts["prescription"]["sites"]["45"] |= {"build": "one piece", "base_material": "titanium"}
    facts["design"]["parts"] = [
        part
        for part in facts["design"]["parts"]
        if (part["kind"], part["sites"]) != ("base", ["45"])
    ]

    assert codes(NAME, facts) == ["ask base_missing 45"]


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        ({"connection": "outer six"}, ["stop does_not_fit 45"]),
        ({"platform": "wide"}, ["stop does_not_fit 45"]),
        ({"platform": ""}, []),
        ({"connection": ""}, ["ask fit_not_known 45"]),
    ],
    ids=lambda value: str(value)[:40],
)
def test_stock_part_against_the_implant(changes, expected):
    facts = good()
    facts["design"]["parts"][1] |= changes

    assert codes(NAME, facts) == expected


def test_unknown_implant_is_not_fitted():
    facts = good()
    facts["implants"] = facts["implants"][1:]

    assert codes(NAME, facts) == ["ask fit_not_known 45", "ask fit_not_known 45"]


def test_on_an_intermediate_abutment_somebody_says_what_fits():
    facts = good()
    facts["prescription"]["sites"]["45"]["level"] = "intermediate abutment"
    facts["design"]["parts"][1]["connection"] = "cone"

    assert codes(NAME, facts) == ["ask on_abutment 45"]


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        ({"material_family": "polymer"}, ["ask other_material bridge (ISO 45, 46, 47)"]),
        ({"strength_class": 4}, ["stop class_too_low bridge (ISO 45, 46, 47)"]),
        ({"strength_class": None}, ["ask class_not_known bridge (ISO 45, 46, 47)"]),
    ],
    ids=lambda value: str(value)[:40],
)
def test_material_against_the_order(changes, expected):
    facts = good()
    facts["design"]["parts"][0] |= changes

    assert codes(NAME, facts) == expected


@pytest.mark.parametrize("missing", ["design", "prescription"])
def test_nothing_to_compare_stops(missing):
    assert codes(NAME, good(**{missing: None})) == ["stop nothing_to_compare"]
