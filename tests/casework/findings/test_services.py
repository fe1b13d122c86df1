"""Does a gate leave a row for each check, once, and does an answer stand only for its facts?"""

from dataclasses import replace
from datetime import date

import pytest
from django.core.exceptions import PermissionDenied

from casework import checks
from casework.audit.models import Entry
from casework.checks import load, photographs_present
from casework.evidence.models import Derived
from casework.findings import services
from casework.findings.models import Answer, CheckRun, Finding, GateRun
from casework.findings.queries import standing_of
from casework.findings.services import answer_asks, ask_for_gate, run_gate
from casework.handoffs.models import HandedFile, Handoff
from casework.stages import Stage, find_move
from orders.jobs.models import Job
from orders.jobs.services import Lost, claim
from orders.refusals import Refused
from tests.casework.findings.filled import (
    fill_planning,
    fill_prescription,
    fill_scans,
    make_file,
    make_implant,
)

READY = find_move(Stage.PLANNING, "ready_to_scan")
SEND = find_move(Stage.SCAN_CAPTURE, "send_order")


@pytest.fixture
def at_scan_capture(case, dentist):
    fill_planning(case, dentist)
    fill_scans(case, dentist)
    fill_prescription(case, dentist)
    case.stage = Stage.SCAN_CAPTURE
    case.save()
    return case


def standing(case, move=READY):
    return standing_of(case, move, on=date.today())


def test_every_check_leaves_a_row_with_the_digest_of_its_facts(case, dentist, run_jobs):
    fill_planning(case, dentist)

    ask_for_gate(case, move=READY, by=dentist)
    run_jobs()

    rows = CheckRun.objects.filter(gate_run__case=case)
    assert {row.check_name for row in rows} == set(READY.checks)
    assert {row.outcome for row in rows} == {"holds"}
    assert all(len(row.facts_digest) == 64 for row in rows)
    assert len({row.facts_digest for row in rows}) == len(rows)
    assert standing(case).not_run == [] and standing(case).findings == []
    assert standing(case).lets_pass


def test_never_run_differs_from_holding(case):
    now = standing(case)

    assert len(now.not_run) == len(READY.checks)
    assert now.holding == [] and not now.lets_pass


def test_a_gate_of_records_alone_finds_what_is_missing(case, dentist, run_jobs):
    ask_for_gate(case, move=READY, by=dentist)
    run_jobs()

    stops = {(found.check, found.code) for found in standing(case).stops}
    assert ("implants_recorded", "no_sites") in stops
    assert ("teeth_recorded", "not_recorded") in stops
    assert not standing(case).lets_pass


def test_an_order_that_lacks_nothing_asks_only_what_nobody_can_know(
    at_scan_capture, dentist, run_jobs
):
    ask_for_gate(at_scan_capture, move=SEND, by=dentist)
    run_jobs()

    now = standing(at_scan_capture, SEND)
    assert [(one.check, one.code) for one in now.stops] == []
    # What is measured on these small bodies, which are no jaws, is judged elsewhere.
    asks = [one for one in now.asks if "measured" not in load(one.check).reads]
    assert [(one.check, one.code) for one in asks] == [("scans_complete", "no_second_scan")]


def test_new_facts_are_not_checked_yet(case, dentist, run_jobs):
    fill_planning(case, dentist)
    ask_for_gate(case, move=READY, by=dentist)
    run_jobs()

    case.order.patient.implants.filter(site="45").update(lot="L2")

    not_run = {check.name for check in standing(case).not_run}
    assert {"implants_recorded", "implants_plausible"} <= not_run
    assert "prescription_complete" not in not_run


def test_a_crash_is_recorded_as_not_known_and_stops(case, dentist, run_jobs, monkeypatch):
    fill_planning(case, dentist)

    def crash(facts, limits):
        raise ZeroDivisionError

    broken = replace(checks.load("teeth_recorded"), run=crash)
    monkeypatch.setattr("casework.checks.teeth_recorded.CHECK", broken)
    ask_for_gate(case, move=READY, by=dentist)
    run_jobs()

    row = CheckRun.objects.get(check_name="teeth_recorded")
    assert row.outcome == "not known"
    (found,) = standing(case).stops
    assert "ZeroDivisionError" in found.wrong and "?" not in found.wrong


def test_a_check_that_reads_a_limit_it_does_not_name_is_not_known(
    case, dentist, run_jobs, monkeypatch
):
    fill_planning(case, dentist)
    hidden = replace(checks.load("healing_recorded"), limits=())
    monkeypatch.setattr("casework.checks.healing_recorded.CHECK", hidden)

    ask_for_gate(case, move=READY, by=dentist)
    run_jobs()

    assert CheckRun.objects.get(check_name="healing_recorded").outcome == "not known"


def test_d13_a_job_delivered_again_after_its_end_writes_nothing(case, dentist, run_jobs):
    run = ask_for_gate(case, move=READY, by=dentist)
    run_jobs()
    written = CheckRun.objects.count(), Entry.objects.filter(kind="gate.checked").count()

    again = Job.objects.create(kind="findings.gate", subject_id=run.pk, due_at=run.asked_at)
    run_gate(run.pk, claim(again.pk))

    assert (
        CheckRun.objects.count(),
        Entry.objects.filter(kind="gate.checked").count(),
    ) == written
    assert written[1] == 1


def test_d13_of_two_at_once_the_second_writes_nothing(case, dentist, monkeypatch):
    run = ask_for_gate(case, move=READY, by=dentist)
    first = claim(Job.objects.get(kind="findings.gate").pk)
    second = claim(
        Job.objects.create(kind="findings.gate", subject_id=run.pk, due_at=run.asked_at).pk
    )
    check_all = services._check_all

    def other_comes_first(*args):
        monkeypatch.setattr(services, "_check_all", check_all)
        run_gate(run.pk, second)
        return check_all(*args)

    monkeypatch.setattr(services, "_check_all", other_comes_first)
    run_gate(run.pk, first)

    assert CheckRun.objects.count() == len(READY.checks)
    assert Entry.objects.filter(kind="gate.checked").count() == 1


def test_a_worker_that_lost_its_claim_writes_nothing(case, dentist):
    run = ask_for_gate(case, move=READY, by=dentist)
    job = claim(Job.objects.get(kind="findings.gate").pk)
    Job.objects.filter(pk=job.pk).update(token="somebody else's")

    with pytest.raises(Lost):
        run_gate(run.pk, job)

    assert not CheckRun.objects.exists()
    assert GateRun.objects.get(pk=run.pk).state == "waiting"


def test_a_case_that_moved_on_needs_no_checks_any_more(case, dentist, run_jobs):
    run = ask_for_gate(case, move=READY, by=dentist)
    type(case).objects.filter(pk=case.pk).update(stage=Stage.CANCELLED)

    run_jobs()

    run.refresh_from_db()
    assert run.state == "done" and not CheckRun.objects.exists()


def asked(case, dentist, run_jobs):
    """A case at planning with one ask: an implant of which nobody knows the lot."""
    fill_planning(case, dentist)
    case.order.patient.implants.filter(site="45").update(lot="")
    ask_for_gate(case, move=READY, by=dentist)
    run_jobs()
    (found,) = standing(case).open_asks
    return found


def test_an_answer_closes_its_question_and_is_on_record(case, dentist, run_jobs):
    found = asked(case, dentist, run_jobs)
    assert not standing(case).lets_pass

    answer_asks(case, move=READY, by=dentist, reasons={found.key: " seen on its radiograph "})

    now = standing(case)
    assert now.open_asks == [] and len(now.asks) == 1 and now.lets_pass
    assert now.asks[0].answer.reason == "seen on its radiograph"
    assert now.asks[0].answer.by == dentist
    entry = Entry.objects.get(kind="finding.answered")
    assert found.key in entry.text


def test_new_facts_make_a_new_question(case, dentist, run_jobs):
    found = asked(case, dentist, run_jobs)
    answer_asks(case, move=READY, by=dentist, reasons={found.key: "seen on its radiograph"})

    case.order.patient.implants.filter(site="45").update(length_mm="11.5")
    ask_for_gate(case, move=READY, by=dentist)
    run_jobs()

    lot = [one for one in standing(case).open_asks if one.code == "lot_unknown"]
    assert len(lot) == 1 and lot[0].key != found.key


def test_the_same_facts_again_keep_the_answer(case, dentist, run_jobs):
    found = asked(case, dentist, run_jobs)
    answer_asks(case, move=READY, by=dentist, reasons={found.key: "seen on its radiograph"})

    ask_for_gate(case, move=READY, by=dentist)
    run_jobs()

    assert standing(case).open_asks == []


def test_answer_to_a_question_that_is_gone_is_refused(case, dentist, run_jobs):
    found = asked(case, dentist, run_jobs)
    case.order.patient.implants.filter(site="45").update(lot="L9")

    with pytest.raises(Refused, match="changed since"):
        answer_asks(case, move=READY, by=dentist, reasons={found.key: "seen"})

    assert not Answer.objects.exists()


def test_empty_reason_is_no_answer(case, dentist, run_jobs):
    found = asked(case, dentist, run_jobs)

    answer_asks(case, move=READY, by=dentist, reasons={found.key: "  "})

    assert not Answer.objects.exists()


def test_reason_that_names_the_patient_is_refused(case, dentist, run_jobs):
    found = asked(case, dentist, run_jobs)

    with pytest.raises(Refused):
        answer_asks(
            case, move=READY, by=dentist, reasons={found.key: "Quirina Testperson told so"}
        )

    assert not Answer.objects.exists()


def test_only_whoever_may_move_the_case_answers(case, dentist, assistant, technician, run_jobs):
    found = asked(case, dentist, run_jobs)

    for member in (assistant, technician):
        with pytest.raises(PermissionDenied):
            answer_asks(case, move=READY, by=member, reasons={found.key: "seen"})


def test_a_party_that_is_not_on_the_case_cannot_ask_for_checks(case, other_practice):
    from tests.factories import make_member

    stranger = make_member(other_practice, "dentist")

    with pytest.raises(PermissionDenied):
        ask_for_gate(case, move=READY, by=stranger)


@pytest.fixture
def offer(at_scan_capture, dentist, laboratory):
    """An open offer of one file, with the copy that the laboratory gets."""
    from casework.evidence.keeping import keep_bytes
    from casework.handoffs.manifest import records_to
    from orders.canonical import digest_of_bytes, text_of

    case, data = at_scan_capture, b"solid copy\nendsolid\n"
    file = case.evidence.get(number=1)
    key = keep_bytes(data, party_id=file.party_id, code=case.code, sha256="x", part="handed")
    Derived.objects.create(
        evidence=file,
        size_bytes=len(data),
        sha256=digest_of_bytes(data),
        storage_key=key,
        name="copy.stl",
        content_digest="c" * 64,
    )
    handoff = Handoff.objects.create(
        case=case,
        number=1,
        move=SEND.name,
        source=SEND.source,
        target=SEND.target,
        from_party=dentist.party,
        to_party=laboratory,
        state="offered",
        offered_by=dentist,
        offered_at="2026-06-01T09:00Z",
        manifest=text_of({"records": records_to(case, SEND.to_side, dentist.party)}),
    )
    HandedFile.objects.create(
        handoff=handoff, evidence=file, sha256=digest_of_bytes(data), name="copy.stl"
    )
    return handoff


def accepting(case, technician, run_jobs):
    ask_for_gate(case, move=SEND, by=technician, for_acceptance=True)
    run_jobs()
    return standing_of(case, SEND, on=date.today(), for_acceptance=True)


def manifest_codes(now):
    return [one.code for one in now.findings if one.check == "manifest_verified"]


def test_acceptance_reads_the_stored_bytes_again(offer, technician, run_jobs):
    now = accepting(offer.case, technician, run_jobs)

    assert now.not_run == [] and manifest_codes(now) == []
    offer.refresh_from_db()
    assert offer.verified == {"1": offer.files.get().sha256}


def test_changed_bytes_stop_the_acceptance(offer, technician, run_jobs):
    from django.core.files.base import ContentFile
    from django.core.files.storage import default_storage

    key = offer.files.get().evidence.derived.storage_key
    default_storage.delete(key)
    default_storage.save(key, ContentFile(b"another one"))

    assert manifest_codes(accepting(offer.case, technician, run_jobs)) == ["file_changed"]


def test_lost_bytes_stop_the_acceptance(offer, technician, run_jobs):
    from django.core.files.storage import default_storage

    default_storage.delete(offer.files.get().evidence.derived.storage_key)

    assert manifest_codes(accepting(offer.case, technician, run_jobs)) == ["file_missing"]


def test_record_changed_after_the_offer_stops_the_acceptance(offer, technician, run_jobs):
    offer.case.order.patient.implants.filter(site="45").update(lot="L7")

    now = accepting(offer.case, technician, run_jobs)
    (found,) = [one for one in now.findings if one.check == "manifest_verified"]
    assert found.code == "record_changed" and "implant" in found.wrong


def test_an_offer_amended_while_it_was_read_keeps_no_verification(
    offer, technician, monkeypatch
):
    run = ask_for_gate(offer.case, move=SEND, by=technician, for_acceptance=True)
    job = claim(Job.objects.get(kind="findings.gate").pk)
    stored = services.stored_digests

    def amended_meanwhile(one):
        found = stored(one)
        Handoff.objects.filter(pk=one.pk).update(manifest_number=2)
        return found

    monkeypatch.setattr(services, "stored_digests", amended_meanwhile)
    run_gate(run.pk, job)

    offer.refresh_from_db()
    assert offer.verified is None
    now = standing_of(offer.case, SEND, on=date.today(), for_acceptance=True)
    assert "manifest_verified" in {check.name for check in now.not_run}


def test_findings_keep_code_and_values_not_sentences(case, dentist, run_jobs):
    make_implant(case, dentist, "45", lot="")
    ask_for_gate(case, move=READY, by=dentist)
    run_jobs()

    found = Finding.objects.get(code="lot_unknown")
    assert found.subject == "45"
    assert set(found.values) == {"where"}


def test_files_that_come_later_ask_anew(at_scan_capture, dentist, run_jobs):
    ask_for_gate(at_scan_capture, move=SEND, by=dentist)
    run_jobs()

    make_file(at_scan_capture, dentist, "photograph")

    not_run = {check.name for check in standing(at_scan_capture, SEND).not_run}
    assert "photographs_present" in not_run
    assert "prescription_complete" not in not_run
    assert "files" in photographs_present.CHECK.reads
