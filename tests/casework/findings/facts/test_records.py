"""Do the facts say what the records say, and nothing personal?"""

from datetime import date
from decimal import Decimal

import pytest

from casework.findings.facts import FACTS, fetch_facts
from casework.schedule.models import ClosingDay
from casework.stages import Side, Stage, find_move
from orders.canonical import digest_of
from orders.prescriptions.models import Prescription
from orders.prescriptions.services import begin_amendment
from tests import factories
from tests.casework.checks.good import good
from tests.casework.findings.filled import (
    fill_planning,
    fill_prescription,
    fill_scans,
    make_file,
    make_implant,
)

SEND = find_move(Stage.SCAN_CAPTURE, "send_order")
SUBMIT = find_move(Stage.DESIGN, "submit_design")
TODAY = date(2026, 6, 1)


def fact(case, name, move=SEND, on=TODAY):
    return fetch_facts(case, move, [name], on=on)[name]


@pytest.fixture
def filled(case, dentist):
    fill_planning(case, dentist)
    fill_scans(case, dentist)
    fill_prescription(case, dentist)
    return case


def test_every_fact_can_be_fetched_of_an_empty_case_and_hashed(case):
    facts = fetch_facts(case, SEND, FACTS, on=TODAY)

    assert len(digest_of(facts)) == 64
    assert facts["dentition"] is None and facts["shade"] is None and facts["bite"] is None
    assert facts["implants"] == [] and facts["files"] == [] and facts["design"] is None


def test_every_fact_of_a_filled_case_can_be_hashed_and_names_nobody(filled):
    facts = fetch_facts(filled, SEND, FACTS, on=TODAY)

    assert len(digest_of(facts)) == 64
    assert "Quirina" not in str(facts) and "1968" not in str(facts)


@pytest.mark.parametrize(
    "name",
    ["order", "prescription", "dentition", "bite", "shade", "calendar", "try_ins"],
)
def test_facts_have_the_fields_that_checks_are_tested_with(filled, name):
    assert set(good()[name]) <= set(fact(filled, name))


@pytest.mark.parametrize("name", ["implants", "readings", "scan_bodies", "files", "components"])
def test_rows_have_the_fields_that_checks_are_tested_with(filled, name):
    assert set(good()[name][0]) <= set(fact(filled, name)[0])


def test_sites_are_those_ordered_else_those_recorded(case, dentist):
    make_implant(case, dentist, "16")
    assert fact(case, "order")["sites"] == ["16"]

    fill_prescription(case, dentist)
    assert fact(case, "order")["sites"] == ["45", "47"]


@pytest.mark.parametrize(
    ("units", "splinted"),
    [
        ([("45", "retainer"), ("46", "pontic"), ("47", "retainer")], True),
        ([("45", "crown"), ("46", "crown")], False),
        ([("45", "retainer"), ("46", "pontic")], False),
    ],
    ids=["bridge", "single crowns", "one implant and a free end"],
)
def test_joined_implants_are_splinted(case, dentist, units, splinted):
    rows = [
        {"tooth": tooth, "kind": kind, "on": "" if kind == "pontic" else "implant"}
        for tooth, kind in units
    ]
    fill_prescription(case, dentist, units=rows)

    assert fact(case, "order")["is_splinted"] is splinted


def test_an_amendment_that_is_only_begun_does_not_reach_the_bench(filled, dentist):
    Prescription.objects.filter(order=filled.order).update(state="signed")
    draft = begin_amendment(filled.order, by=dentist)
    draft.units = []
    draft.save()

    assert fact(filled, "order", SUBMIT)["teeth"] == ["45", "46", "47"]
    assert fact(filled, "order", SEND)["teeth"] == []
    assert fact(filled, "prescription", SUBMIT)["state"] == "signed"


@pytest.mark.parametrize(
    ("placed_on", "problem"),
    [
        (TODAY, ""),
        (date(2026, 6, 2), "placed_in_future"),
        (date(1968, 4, 1), "placed_before_birth"),
        (None, ""),
    ],
)
def test_day_of_an_implant(case, dentist, placed_on, problem):
    make_implant(case, dentist, "45", placed_on=placed_on)

    assert fact(case, "implants")[0]["day_problem"] == problem


def test_what_the_catalogue_lists_stands_beside_the_record(case, dentist):
    make_implant(case, dentist, "45", length_mm="11.5")

    (implant,) = fact(case, "implants")
    assert implant["length_mm"] == Decimal("11.5")
    assert implant["catalogue"]["length_mm"] == Decimal("10")


def test_implant_outside_the_catalogue_has_no_listed_values(case, dentist):
    make_implant(case, dentist, "45", component=None)

    assert fact(case, "implants")[0]["catalogue"] is None


def test_superseded_files_are_no_facts(case, dentist):
    make_file(case, dentist, "photograph", superseded_at="2026-06-01T10:00Z")
    make_file(case, dentist, "photograph")

    assert [file["number"] for file in fact(case, "files")] == [2]


def test_surface_of_a_file_is_that_of_its_bytes_in_its_unit(case, dentist):
    file = make_file(case, dentist, "working_arch", "lower")
    assert fact(case, "files")[0]["integrity"]["hole_count"] == 1

    file.unit_factor = "25.4"
    file.save()
    assert fact(case, "files")[0]["integrity"] is None


def test_measured_values_are_exact_numbers(case, dentist):
    make_file(case, dentist, "working_arch", "lower")

    edge = fact(case, "files")[0]["integrity"]["edge_length_mm"]["median"]
    assert edge == Decimal("0.21") and isinstance(edge, Decimal)


@pytest.mark.parametrize(
    ("wanted", "expected"),
    [
        # Monday 1 June 2026; 6 June is a Saturday.
        (date(2026, 6, 5), (False, True, 4)),
        (date(2026, 6, 6), (False, False, 4)),
        (date(2026, 6, 8), (False, True, 5)),
        (date(2026, 5, 29), (True, True, 0)),
        (TODAY, (False, True, 0)),
    ],
)
def test_working_days_to_the_day_wanted(case, dentist, wanted, expected):
    fill_prescription(case, dentist, wanted_on=wanted)

    found = fact(case, "calendar")
    names = ("is_past", "wanted_is_working_day", "working_days_left")
    assert tuple(found[name] for name in names) == expected
    assert found["knows_holidays"] is False


def test_closing_days_and_holidays_are_no_working_days(case, dentist):
    type(dentist.party).objects.filter(pk=dentist.party_id).update(country="DE", region="BE")
    ClosingDay.objects.create(party=dentist.party, day=date(2026, 6, 3))
    fill_prescription(case, dentist, wanted_on=date(2026, 6, 5))
    case = type(case).objects.get(pk=case.pk)

    found = fact(case, "calendar")
    assert (found["working_days_left"], found["knows_holidays"]) == (3, True)


def test_no_day_wanted_is_not_known(case):
    assert fact(case, "calendar")["working_days_left"] is None


def test_a_file_says_whose_it_is(case, dentist, practice):
    centre = factories.make_party("scan_centre", partner_of=practice)
    centre.kind = Side.SCAN_CENTRE
    centre.save()
    processor = factories.make_member(centre, "scan processor")
    raw = make_file(case, dentist, "working_arch", "lower")
    make_file(case, processor, "working_arch", "lower", made_from=raw)

    assert [(f["party_side"], f["made_from"]) for f in fact(case, "files")] == [
        ("practice", None),
        ("scan centre", 1),
    ]
