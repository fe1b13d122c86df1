"""Do the boards' rows say what the case says, to whom it may be said?"""

from datetime import date

import pytest
from django.core.management import call_command
from django.forms.models import model_to_dict
from django.utils import timezone

from casework.boards.services import write_summaries
from casework.cases.models import Case, CaseParty, Summary
from casework.cases.services import assign_case, hold_case, release_case
from orders.implants.models import Implant
from tests.casework.boards.standing import case_at, offer, show_to
from tests.factories import make_member, make_party

pytestmark = pytest.mark.django_db


def row_of(case, party):
    return Summary.objects.get(case=case, party=party)


def test_fresh_case_is_seen_by_its_practice_alone(case, practice, dentist):
    row = Summary.objects.get(case=case)

    assert (row.party, row.side, row.stage) == (practice, "practice", "planning")
    assert row.is_turn and row.turn == "plan" and row.assigned == dentist


def test_laboratory_has_its_own_row_and_its_own_assigned(
    dentist, laboratory, practice, technician
):
    case = case_at("design", by=dentist, laboratory=laboratory, assigned=technician)

    ours, theirs = row_of(case, practice), row_of(case, laboratory)

    assert (ours.assigned, theirs.assigned) == (dentist, technician)
    assert (ours.is_turn, theirs.is_turn) == (False, True)
    assert theirs.turn == ours.turn == "design"


def test_offer_turns_to_the_laboratory_that_sees_it_then(dentist, laboratory, practice):
    case = case_at("scan capture", by=dentist, laboratory=laboratory)
    show_to(case, "laboratory")
    offer(case, "send_order", by=dentist, to=laboratory)

    assert row_of(case, laboratory).is_turn
    assert row_of(case, laboratory).turn == "answer_order"
    assert not row_of(case, practice).is_turn


def test_hidden_party_loses_its_row(dentist, laboratory, practice):
    case = case_at("design", by=dentist, laboratory=laboratory)
    CaseParty.objects.filter(case=case, side="laboratory").update(hidden_at=timezone.now())
    write_summaries(case)

    assert [row.party for row in case.summaries.all()] == [practice]


def test_wrong_patient_leaves_the_practice_alone_with_no_turn(dentist, laboratory, practice):
    case = case_at("design", by=dentist, laboratory=laboratory, wrong_patient_at=timezone.now())

    row = Summary.objects.get(case=case)
    assert row.party == practice and row.turn == "wrong_patient" and not row.is_turn


def test_hold_surfaces_on_its_day_and_ends(case, dentist, practice):
    day = date(2099, 1, 2)
    hold_case(case, by=dentist, reason="waits for healing", look_again_on=day)
    held = row_of(case, practice)
    release_case(case, by=dentist)

    assert (held.section, held.due_on, held.is_on_hold) == ("hold", day, True)
    assert row_of(case, practice).section == "plan"


def test_due_day_is_the_first_of_what_was_wanted_and_promised(dentist, laboratory, practice):
    wanted = {"wanted_on": date(2026, 6, 1), "teeth": ["47", "45", "46"]}
    case = case_at(
        "fabrication",
        by=dentist,
        laboratory=laboratory,
        prescribed=wanted,
        promised_on=date(2026, 5, 20),
    )

    row = row_of(case, practice)
    assert row.due_on == date(2026, 5, 20)
    assert row.teeth == "47 46 45"


def test_laboratory_reads_nothing_from_a_draft(dentist, laboratory, practice):
    draft = {"state": "draft", "wanted_on": date(2026, 6, 1), "teeth": ["45"]}
    case = case_at("design", by=dentist, laboratory=laboratory, prescribed=draft)

    assert row_of(case, practice).teeth == "45"
    theirs = row_of(case, laboratory)
    assert theirs.teeth == "" and theirs.wanted_on is None


def test_recorded_implants_stand_in_until_something_is_ordered(case, practice):
    Implant(patient=case.order.patient, site="36").save()
    write_summaries(case)

    assert row_of(case, practice).teeth == "36"


def test_milling_centre_reads_neither_practice_nor_teeth(dentist, laboratory):
    mill = make_party("milling centre", partner_of=dentist.party)
    case = case_at("milling", by=dentist, laboratory=laboratory, prescribed={"teeth": ["45"]})
    show_to(case, "milling centre", party=mill)

    row = row_of(case, mill)
    assert (row.practice_name, row.teeth, row.is_turn) == ("", "", True)


def test_closed_case_leaves_the_boards_and_stays_in_the_list(dentist, laboratory, practice):
    case = case_at("closed", by=dentist, laboratory=laboratory)

    row = row_of(case, practice)
    assert not row.is_open and not row.is_turn and row.visit_kind == ""


def test_case_heading_for_try_in_says_why_the_patient_cannot_come(
    dentist, laboratory, practice
):
    case = case_at(
        "fabrication", by=dentist, laboratory=laboratory, prescribed={"teeth": ["45"]}
    )

    ours, theirs = row_of(case, practice), row_of(case, laboratory)
    assert ours.visit_kind == "try-in" and "not made yet" in ours.not_ready_because
    assert theirs.visit_kind == "" and theirs.not_ready_because == ""


def test_rebuilt_boards_are_those_that_were_kept(dentist, laboratory, technician, practice):
    second = make_member(practice, "coordinator")
    for stage in ("planning", "design", "fabrication", "try-in", "recall", "closed"):
        case_at(stage, by=dentist, laboratory=laboratory, assigned=technician)
    case = Case.objects.first()
    assign_case(case, by=second, member=second)
    hold_case(case, by=dentist, reason="waits", look_again_on=date(2099, 1, 2))
    kept = rows_without_keys()
    Summary.objects.all().delete()

    call_command("rebuild_boards", verbosity=0)

    assert rows_without_keys() == kept and len(kept) > 8


def rows_without_keys():
    rows = [model_to_dict(row, exclude=["id"]) for row in Summary.objects.all()]
    return sorted(rows, key=lambda row: (row["code"], row["party"]))
