"""Moving a case: every refusal changes nothing, every press counts once, nothing is lost."""

import json
import threading
from datetime import timedelta

import pytest
from django.core.exceptions import PermissionDenied
from django.db import connection
from django.utils import timezone

from casework.audit.models import Entry
from casework.cases.models import Case
from casework.cases.queries import visible_to
from casework.cases.services import assign_case, hold_case, release_case
from casework.designs.services import start_version
from casework.handoffs.models import Handoff, Notice, Signature
from casework.handoffs.offers import accept_offer, amend_offer, return_offer, withdraw_offer
from casework.handoffs.outcomes import withdraw_as_wrong_patient
from casework.handoffs.refusals import MovedMeanwhile, MoveRefused
from casework.handoffs.services import acknowledge_cancellation, make_move
from casework.stages import MOVES, NoSuchMove, Stage, moves_from
from orders.refusals import PasswordWrong, Refused, TooManyTries

pytestmark = pytest.mark.slow


def state_of(case):
    """Everything a refusal must leave as it was."""
    return (
        list(Case.objects.filter(pk=case.pk).values()),
        list(case.handoffs.values()),
        list(case.signatures.values()),
        Entry.objects.count(),
        Notice.objects.count(),
    )


def approve(story, **fields):
    fields = {"password": story.cast.password, "at": story.at(7)} | fields
    return make_move(story.case, name="approve_design", by=story.who("dentist"), **fields)


def ready_to_approve(tell):
    story = tell("crown", "submit_design")
    story.gate("approve_design", story.who("dentist"), story.at(7))
    return story


@pytest.mark.django_db
def test_a_move_that_does_not_exist_at_the_stage_changes_nothing(case, dentist):
    before = state_of(case)
    for move in {move.name for move in MOVES} - {m.name for m in moves_from(case.stage)}:
        with pytest.raises((MoveRefused, NoSuchMove)):
            make_move(case, name=move, by=dentist)

    assert state_of(case) == before


@pytest.mark.django_db
@pytest.mark.parametrize("stage", Stage)
def test_a_role_that_is_not_named_changes_nothing(
    stage, case, assistant, front_desk, practice_admin, technician, lab_lead
):
    Case.objects.filter(pk=case.pk).update(stage=stage)
    case.refresh_from_db()
    case.parties.update(seen_from=timezone.now())
    before = state_of(case)
    for member in (assistant, front_desk, practice_admin, technician, lab_lead):
        for move in moves_from(stage):
            if move.by & member.role_set:
                continue
            with pytest.raises(PermissionDenied):
                make_move(case, name=move.name, by=member, reason="because")

    assert state_of(case) == before


@pytest.mark.django_db
def test_an_unchecked_move_is_refused_with_what_is_missing(case, dentist):
    with pytest.raises(MoveRefused) as refusal:
        make_move(case, name="ready_to_scan", by=dentist)

    assert "Not checked on what is recorded" in refusal.value.sentences[0]
    assert case.handoffs.count() == 0


def test_a_wrong_password_signs_nothing(tell):
    story = ready_to_approve(tell)
    before = state_of(story.case)

    with pytest.raises(PasswordWrong):
        approve(story, password="not this one")

    assert state_of(story.case) == before


def test_wrong_passwords_count_though_nothing_else_is_kept(tell, settings):
    story = ready_to_approve(tell)
    before = state_of(story.case)

    for _try in range(settings.AXES_FAILURE_LIMIT):
        with pytest.raises(PasswordWrong) as refused:
            approve(story, password="not this one")

    assert "enter it again in 15 minutes" in refused.value.sentences[0]
    with pytest.raises(TooManyTries):
        approve(story)
    assert state_of(story.case) == before


def test_signature_is_a_row_bound_to_manifest_and_version(tell):
    story = ready_to_approve(tell)

    handoff = approve(story)

    signature = Signature.objects.get(handoff=handoff)
    version = story.case.designs.get()
    assert signature.by_name == "Nora Prescriber"
    assert signature.role == "dentist"
    assert signature.licence_number == "INV-1001"
    assert signature.manifest_digest == handoff.manifest_digest != ""
    assert signature.subject_digest == version.digest
    assert "approve design version 1" in signature.sentence
    said = [e for e in Entry.objects.filter(kind="signature.given") if version.digest in e.text]
    assert len(said) == 1


def test_d02_approving_a_page_that_shows_an_older_design_is_refused(tell):
    story = ready_to_approve(tell)
    seen = story.case.designs.get().digest
    make_move(
        story.case,
        name="ask_for_changes",
        by=story.who("dentist"),
        reason="more room",
        at=story.at(7),
    )
    story.case.refresh_from_db()
    story.design()
    story.submit_design()
    story.gate("approve_design", story.who("dentist"), story.at(7))

    with pytest.raises(MovedMeanwhile, match="2 has come since"):
        approve(story, seen=seen)

    assert story.case.stage == Stage.DESIGN_APPROVAL


def test_d03_back_to_design_takes_the_approvals_force_but_keeps_it(tell):
    story = tell("crown", "approve_design")

    make_move(
        story.case,
        name="reopen_design",
        by=story.who("technician"),
        reason="The margin was too thin.",
        at=story.at(8),
    )

    signature = Signature.objects.get(handoff__move="approve_design")
    assert signature.voided_at is not None
    assert signature.void_reason == "The margin was too thin."
    story.case.refresh_from_db()
    assert story.case.stage == Stage.DESIGN
    assert story.case.designs.get().state == "voided"
    standing = story.gate("submit_design", story.who("technician"), story.at(8))
    assert standing.stops


def test_d11_a_second_press_points_to_the_first(tell):
    story = ready_to_approve(tell)
    token = "one-press"

    first = approve(story, token=token)
    notices = Notice.objects.count()
    second = approve(story, token=token)

    assert second.pk == first.pk
    assert Handoff.objects.filter(case=story.case, move="approve_design").count() == 1
    assert Notice.objects.count() == notices


def test_the_second_of_two_people_is_told_who_was_first(tell):
    story = ready_to_approve(tell)
    stale = Case.objects.get(pk=story.case.pk)
    approve(story)

    with pytest.raises(MovedMeanwhile, match="done already by Nora Prescriber"):
        make_move(
            stale,
            name="approve_design",
            by=story.who("dentist"),
            password=story.cast.password,
        )


@pytest.mark.django_db(transaction=True)
def test_d01_two_approvals_in_the_same_moment_make_one(tell):
    story = ready_to_approve(tell)
    outcomes, barrier = [], threading.Barrier(2)

    def press():
        barrier.wait()
        try:
            outcomes.append(approve(story))
        except MovedMeanwhile as refusal:
            outcomes.append(refusal)
        finally:
            connection.close()

    threads = [threading.Thread(target=press) for _side in range(2)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(30)

    made = [one for one in outcomes if isinstance(one, Handoff)]
    assert len(outcomes) == 2 and len(made) == 1
    assert Signature.objects.filter(handoff__move="approve_design").count() == 1
    assert Entry.objects.filter(case=story.case.code, kind="case.moved").count() == 4


def test_an_offer_stays_with_the_sender_until_it_is_accepted(tell):
    story = tell("crown", "send_order")

    assert story.case.stage == Stage.SCAN_CAPTURE
    assert story.case.order.prescriptions.get(state="signed").number == 1
    assert visible_to(story.who("technician")).filter(pk=story.case.pk).exists()
    with pytest.raises(MoveRefused, match="offered to"):
        make_move(
            story.case, name="back_to_planning", by=story.who("dentist"), reason="a doubt"
        )


def test_manifest_lists_derived_files_and_record_revisions(tell):
    story = tell("crown", "send_order")

    content = json.loads(story.case.handoffs.get(move="send_order").manifest)

    files = {file["number"]: file for file in content["files"]}
    for evidence in story.case.evidence.filter(state="readable"):
        assert files[evidence.number]["sha256"] == evidence.derived.sha256
        assert story.case.code in files[evidence.number]["name"]
    kinds = {record["kind"] for record in content["records"]}
    assert {"prescription", "implant", "shade note", "bite note", "scan body use"} <= kinds
    assert all(record["revision"] >= 1 for record in content["records"])
    assert "Testperson" not in json.dumps(content)


def test_returned_with_reasons_the_case_stays_and_the_sender_is_told(tell):
    story = tell("crown", "send_order")
    handoff = story.case.handoffs.get(state="offered")

    return_offer(
        handoff,
        by=story.who("technician"),
        reasons=[("Bite scan has a fold at 37.", "patient needed", "")],
    )

    story.case.refresh_from_db()
    assert story.case.stage == Stage.SCAN_CAPTURE
    assert handoff.return_reasons.get().needs == "patient needed"
    assert Notice.objects.filter(
        member=story.who("dentist"), event=f"handoff {handoff.pk} returned"
    ).exists()
    with pytest.raises(MovedMeanwhile):
        accept_offer(handoff, by=story.who("technician"))


def test_returning_without_a_reason_is_refused(tell):
    story = tell("crown", "send_order")
    handoff = story.case.handoffs.get(state="offered")

    with pytest.raises(MoveRefused, match="at least one reason"):
        return_offer(handoff, by=story.who("technician"), reasons=[])

    handoff.refresh_from_db()
    assert handoff.is_open


def test_withdrawn_before_it_was_accepted_the_receiver_sees_the_case_no_more(tell):
    story = tell("crown", "send_order")
    handoff = story.case.handoffs.get(state="offered")

    withdraw_offer(handoff, by=story.who("dentist"), reason="A scan is missing.")

    assert not visible_to(story.who("technician")).filter(pk=story.case.pk).exists()


def test_what_only_the_record_lacks_is_answered_by_an_amendment(tell):
    story = tell("crown", "send_order")
    handoff = story.case.handoffs.get(state="offered")
    digest = handoff.manifest_digest
    dentist, at = story.who("dentist"), story.at(2, 12)
    implant = story.case.order.patient.implants.get()
    implant.identifier = "(01)09521234543213"
    from orders.records import save_record

    save_record(implant, by=dentist, case=story.case.code)
    story.gate("send_order", dentist, at)

    amended = amend_offer(
        handoff,
        by=dentist,
        reason="The identifier was added.",
        password=story.cast.password,
        at=at,
    )

    assert amended.manifest_number == 2
    assert amended.manifest_digest != digest
    assert amended.is_open
    assert amended.signatures.filter(voided_at=None).count() == 1
    story.accept_order()
    assert story.case.stage == Stage.DESIGN


def test_accepted_on_condition_the_condition_stops_the_move_it_names(tell):
    story = tell("crown", "send_order")
    handoff, by = story.case.handoffs.get(state="offered"), story.who("technician")
    story.gate("send_order", by, story.at(3), for_acceptance=True)
    promised_on = story.at(14).date()
    while promised_on.weekday() > 4:
        promised_on += timedelta(days=1)

    accept_offer(
        handoff,
        by=by,
        promised_on=promised_on,
        conditions=[("Tell us the gum shade.", "submit_design")],
        at=story.at(3),
    )
    story.case.refresh_from_db()
    story.design()
    standing = story.gate("submit_design", by, story.at(6))

    assert [f.check for f in standing.stops] == ["conditions_met"]


def test_a_file_changed_on_the_disk_stops_the_acceptance(tell, settings):
    from django.core.files.base import ContentFile
    from django.core.files.storage import default_storage

    story = tell("crown", "send_order")
    line = story.case.handoffs.get(state="offered").files.order_by("pk").first()
    key = line.evidence.derived.storage_key
    default_storage.delete(key)
    default_storage.save(key, ContentFile(b"not what was handed over"))

    standing = story.gate(
        "send_order", story.who("technician"), story.at(3), for_acceptance=True
    )

    assert "manifest_verified" in [finding.check for finding in standing.stops]


def test_wrong_patient_hides_the_case_at_once_and_tells_the_receiver(tell):
    story = tell("crown", "accept_order")
    technician = story.who("technician")

    withdraw_as_wrong_patient(story.case, by=story.who("dentist"))

    for key in ("technician", "lead", "assistant", "desk"):
        assert not visible_to(story.who(key)).filter(pk=story.case.pk).exists()
    assert visible_to(story.who("dentist")).filter(pk=story.case.pk).exists()
    notice = Notice.objects.filter(member=technician).order_by("-pk").first()
    assert "wrong patient" in notice.text
    assert "Testperson" not in notice.text


@pytest.mark.django_db
def test_on_hold_nothing_moves_until_it_is_released(case, dentist):
    look_again_on = timezone.now().date() + timedelta(days=7)
    hold_case(case, by=dentist, reason="Patient is away.", look_again_on=look_again_on)

    with pytest.raises(MoveRefused, match="on hold"):
        make_move(case, name="ready_to_scan", by=dentist)

    release_case(case, by=dentist)
    assert not Case.objects.get(pk=case.pk).is_on_hold


@pytest.mark.django_db
def test_cancelled_before_work_began_it_ends_at_once(case, dentist):
    make_move(case, name="cancel", by=dentist, reason="The patient moved away.")

    case.refresh_from_db()
    assert case.stage == Stage.CANCELLED
    assert case.closed_at is not None


def test_d20_cancelled_after_work_began_it_waits_for_the_laboratory_and_keeps_its_lots(tell):
    story = tell("crown", "make")
    lots = [part.facts()["material_lot"] for part in story.case.work_parts.all()]

    asked = make_move(
        story.case, name="cancel", by=story.who("dentist"), reason="The patient fell ill."
    )
    story.case.refresh_from_db()
    assert asked is None
    assert story.case.stage == Stage.FABRICATION
    acknowledge_cancellation(story.case, by=story.who("technician"))

    story.case.refresh_from_db()
    assert story.case.stage == Stage.CANCELLED
    assert [part.facts()["material_lot"] for part in story.case.work_parts.all()] == lots
    assert moves_from(story.case.stage) == ()
    assert visible_to(story.who("technician")).filter(pk=story.case.pk).exists()


@pytest.mark.django_db
def test_cancelling_needs_a_reason(case, dentist):
    with pytest.raises(MoveRefused, match="reason"):
        make_move(case, name="cancel", by=dentist)


def test_d09_after_reassignment_the_old_technician_saves_nothing(tell):
    story = tell("crown", "accept_order")
    assign_case(story.case, by=story.who("lead"), member=story.who("second"))

    with pytest.raises(Refused, match="with Tess Bench now"):
        start_version(story.case, by=story.who("technician"))

    assert story.case.designs.count() == 0


@pytest.mark.django_db
def test_a_reason_that_names_the_patient_is_refused(case, dentist):
    with pytest.raises(Refused):
        make_move(case, name="cancel", by=dentist, reason="Mrs Testperson moved away.")

    assert case.handoffs.count() == 0
