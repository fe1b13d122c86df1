"""Does a prescription that lacks something or contradicts itself say so?

The facts below are a three-unit bridge 45-47 on two implants that just passes; each test
changes one thing. Classes are those of ISO 6872 Table 1 (from memory).
"""

from datetime import date
from decimal import Decimal

import pytest

from orders.prescriptions.rules import incoherent, missing_from

SITE = {
    "level": "implant",
    "engaging": False,
    "build": "abutment and restoration",
    "abutment_material": "titanium",
    "base_material": "titanium",
}


def unit(tooth, kind="retainer", on="implant", **more):
    return {"tooth": tooth, "kind": kind, "on": "" if kind == "pontic" else on} | more


BRIDGE = [unit("47"), unit("46", "pontic"), unit("45")]
GOOD = {
    "units": BRIDGE,
    "sites": {"45": SITE, "47": SITE},
    "material_family": "zirconia",
    "strength_class": 4,
    "material": None,
    "retention": "screw",
    "margin_depth_mm": None,
    "contacts": "usual",
    "occlusal_scheme": "guided by the canine",
    "grinding": "none",
    "pontic_form": "ovate",
    "emergence": "concave",
    "surface": "glazed",
    "gum_shade_wanted": False,
    "allergies": "none known",
    "wanted_on": date(2026, 6, 1),
    "look_waived": False,
    "fee": "estimate agreed",
}
JAW = {"present": ["44", "43", "42"], "prepared": []}
IMPLANTS = [{"site": "45"}, {"site": "47"}]


def found_in(changes=(), *, implants=IMPLANTS, dentition=JAW, shade=None):
    facts = GOOD | dict(changes)
    found = incoherent(
        facts, implants=implants, dentition=dentition, shade=shade, today=date(2026, 4, 1)
    )
    return [(one.code, one.weight, one.subject) for one in found]


def test_good_prescription_lacks_nothing_and_goes_together():
    assert missing_from(GOOD) == ()
    assert found_in() == []


def test_no_prescription_is_missing_as_a_whole():
    assert [one.code for one in missing_from(None)] == ["no_prescription"]


@pytest.mark.parametrize(
    "field, empty, code, weight",
    [
        ("units", [], "units_missing", "stop"),
        ("material_family", "", "field_missing", "stop"),
        ("strength_class", None, "class_missing", "stop"),
        ("retention", "", "field_missing", "stop"),
        ("contacts", "", "field_missing", "stop"),
        ("occlusal_scheme", "", "field_missing", "stop"),
        ("grinding", "", "field_missing", "stop"),
        ("pontic_form", "", "pontic_form_missing", "stop"),
        ("emergence", "", "field_missing", "stop"),
        ("surface", "", "field_missing", "stop"),
        ("allergies", "", "allergies_unanswered", "stop"),
        ("wanted_on", None, "field_missing", "stop"),
        ("fee", "", "fee_missing", "ask"),
    ],
)
def test_each_missing_field_is_named(field, empty, code, weight):
    found = missing_from(GOOD | {field: empty})

    assert (code, field, weight) in [(one.code, one.field, one.weight) for one in found]
    assert all(one.sentence for one in found)


@pytest.mark.parametrize("field", ["level", "engaging", "build", "abutment_material"])
def test_each_choice_per_site_is_asked(field):
    facts = GOOD | {"sites": {"45": SITE, "47": SITE | {field: ""}}}

    (found,) = missing_from(facts)

    assert (found.subject, found.field) == ("47", f"sites.47.{field}")


def test_not_engaging_is_an_answer_and_one_piece_needs_no_abutment():
    one_piece = SITE | {"engaging": False, "build": "one piece", "abutment_material": ""}

    assert missing_from(GOOD | {"sites": {"45": one_piece, "47": one_piece}}) == ()


def test_missing_class_names_the_one_that_is_needed():
    (found,) = missing_from(GOOD | {"strength_class": None})

    assert "class 4 or higher" in found.sentence


def test_cement_needs_the_depth_of_its_margin():
    (found,) = missing_from(GOOD | {"retention": "cement"})

    assert found.code == "margin_depth_missing"


@pytest.mark.parametrize(
    "units, expected",
    [
        ([unit("47"), unit("45")], {("lone_retainer", "stop")}),
        ([unit("47", piece=1), unit("45", piece=1)], {("bridge_with_gap", "stop")}),
        ([unit("46", "pontic"), unit("45")], {("pontic_free", "stop")}),
        ([unit("46", "pontic", free=True), unit("45")], {("cantilever_stated", "note")}),
        (
            [unit("47", "pontic", free=True), unit("46", "pontic", free=True), unit("45")],
            {("cantilever_long", "ask")},
        ),
        ([unit("46", "pontic")], {("bridge_without_retainer", "stop")}),
        ([*BRIDGE, unit("45")], {("tooth_twice", "stop")}),
        ([*BRIDGE, unit("99")], {("unknown_tooth", "stop")}),
        ([unit("45", "veneer")], {("unknown_kind", "stop")}),
        ([unit("45", "crown"), unit("15", "crown")], {("two_jaws", "stop")}),
    ],
)
def test_units_must_make_pieces(units, expected):
    sites = {each["tooth"]: SITE for each in units if each["on"] == "implant"}
    implants = [{"site": site} for site in sites] + [{"site": "47"}]
    found = found_in(
        {"units": units, "sites": sites, "strength_class": 5, "pontic_form": "ovate"},
        implants=implants,
    )

    judged = {(code, weight) for code, weight, _subject in found}
    assert expected <= judged
    assert {code for code, weight in judged if weight == "stop"} <= {
        code for code, _weight in expected
    }


def test_c17_bridge_across_the_midline_is_one_piece():
    units = [unit(tooth) for tooth in ("12", "11", "21", "22")]
    sites = {each["tooth"]: SITE for each in units}
    implants = [{"site": site} for site in sites]
    changes = {"units": units, "sites": sites, "strength_class": 5, "pontic_form": ""}

    assert found_in(changes, implants=implants) == []
    assert found_in(changes | {"strength_class": 4}, implants=implants) == [
        ("class_too_low", "stop", "12-22")
    ]


def test_touching_bridges_are_told_apart_by_their_piece():
    teeth = ("47", "46", "45", "44", "43", "42")
    units = [unit(t, piece=1 if t[1] > "4" else 2) for t in teeth]
    sites = dict.fromkeys(teeth, SITE)
    implants = [{"site": tooth} for tooth in teeth]
    changes = {"units": units, "sites": sites, "pontic_form": "", "strength_class": 4}

    assert found_in(changes, implants=implants, dentition={"present": []}) == []


def test_retainer_without_implant_stops():
    assert found_in(implants=[{"site": "45"}]) == [("no_implant", "stop", "47")]


def test_implant_under_a_pontic_is_asked_about():
    assert found_in(implants=[*IMPLANTS, {"site": "46"}]) == [
        ("pontic_over_implant", "ask", "46")
    ]


def test_standing_tooth_in_the_way_stops():
    assert found_in(dentition={"present": ["46"], "prepared": []}) == [
        ("tooth_in_the_way", "stop", "46")
    ]


def test_unknown_teeth_are_asked_about():
    assert found_in(dentition=None) == [("teeth_unknown", "ask", "")]


def test_unit_on_a_tooth_needs_the_tooth_and_its_preparation():
    units = [unit("45", "crown", "tooth")]
    changes = {"units": units, "sites": {}, "pontic_form": ""}

    assert found_in(changes) == [("no_tooth", "stop", "45")]
    standing = {"present": ["45"], "prepared": []}
    assert found_in(changes, dentition=standing) == [("tooth_unprepared", "ask", "45")]
    assert found_in(changes, dentition={"present": ["45"], "prepared": ["45"]}) == []


def test_tooth_and_implant_in_one_piece_are_asked_about():
    units = [unit("47"), unit("46", "pontic"), unit("45", on="tooth")]
    found = found_in(
        {"units": units, "sites": {"47": SITE}},
        dentition={"present": ["45"], "prepared": ["45"]},
    )

    assert found == [("tooth_and_implant_joined", "ask", "47-45")]


@pytest.mark.parametrize(
    "family, chosen, expected",
    [
        ("zirconia", 3, [("class_too_low", "stop")]),
        ("zirconia", 4, []),
        ("zirconia", 9, [("class_impossible", "stop")]),
        ("lithium disilicate", 3, [("class_too_low", "stop")]),
        ("metal", 3, [("class_too_low", "stop")]),
        ("metal", 4, []),
        ("polymer", None, [("material_limit_unknown", "ask")]),
    ],
)
def test_class_must_carry_span_and_molar(family, chosen, expected):
    found = found_in({"material_family": family, "strength_class": chosen})

    assert [(code, weight) for code, weight, _subject in found] == expected


@pytest.mark.parametrize(
    "depth, expected",
    [
        ("1", []),
        ("1.2", [("margin_deep", "note", "")]),
        ("1.5", [("margin_deep", "note", "")]),
        ("1.51", [("margin_too_deep", "ask", "")]),
        ("-0.5", [("margin_negative", "stop", "")]),
    ],
)
def test_deep_cement_margin_is_noted_then_asked(depth, expected):
    assert found_in({"retention": "cement", "margin_depth_mm": Decimal(depth)}) == expected


def test_one_piece_cannot_be_cemented():
    one = SITE | {"build": "one piece"}
    changes = {
        "retention": "cement",
        "margin_depth_mm": Decimal("0.5"),
        "sites": {"45": one, "47": SITE},
    }

    assert found_in(changes) == [("one_piece_cemented", "stop", "45")]


def test_two_engaging_parts_in_one_piece_are_asked_about():
    engaging = SITE | {"engaging": True}

    assert found_in({"sites": {"45": engaging, "47": SITE}}) == []
    (found,) = found_in({"sites": {"45": engaging, "47": engaging}})
    assert found[:2] == ("engaging_when_joined", "ask")


def test_ceramic_straight_in_the_implant_is_asked_about():
    bare = SITE | {"build": "one piece", "base_material": "none"}

    assert found_in({"sites": {"45": bare, "47": SITE}}) == [
        ("ceramic_without_base", "ask", "45")
    ]


def test_look_is_waived_for_single_crowns_only():
    assert found_in({"look_waived": True}) == [("look_waived", "stop", "")]
    single = {"units": [unit("45", "crown")], "sites": {"45": SITE}, "pontic_form": ""}
    assert found_in(single | {"look_waived": True}) == []


def test_wanted_yesterday_stops_and_today_does_not():
    assert found_in({"wanted_on": date(2026, 3, 31)}) == [("wanted_in_past", "stop", "")]
    assert found_in({"wanted_on": date(2026, 4, 1)}) == []


def test_allergy_that_names_a_prescribed_material_is_asked_about():
    assert found_in({"allergies": "Titanium, nickel"}) == [
        ("allergy_meets_material", "ask", "")
    ]
    assert found_in({"allergies": "penicillin"}) == []


def test_gum_shade_wanted_must_stand_in_the_shade_note():
    wanted = {"gum_shade_wanted": True}

    assert found_in(wanted, shade={"gum_shade": ""}) == [("gum_shade_missing", "stop", "")]
    assert found_in(wanted, shade={"gum_shade": "G2"}) == []


def test_choices_for_a_site_without_unit_stop():
    changes = {"sites": {"45": SITE, "47": SITE, "36": SITE}}

    assert found_in(changes) == [("site_without_unit", "stop", "36")]
