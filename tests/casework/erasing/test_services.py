"""Is a patient's name gone everywhere once it may go, while everything still verifies?"""

import hashlib
import io
import json
import subprocess
from datetime import timedelta

import pytest
from django.conf import settings
from django.db import connection, transaction
from django.urls import reverse
from django.utils import timezone

from casework.audit.queries import first_break
from casework.cases.models import Case
from casework.erasing.services import erase_patient
from casework.evidence.keeping import digest_of_stored
from casework.evidence.receiving import Slot, receive_file
from casework.handoffs.models import Handoff, Signature
from casework.previews.models import Preview
from casework.questions.services import ask_question
from orders.canonical import digest_of_bytes
from orders.documents.models import Paper
from orders.patients.models import PatientIdentity
from orders.refusals import Refused
from tests import factories
from tests.access.tables import rows_of_tables
from tests.bench import make_ordered_case
from tests.casework.questions.making import coming

# Not a word of any other row or file.
WORDS = ("Xanthippa", "Unverwechselbar", "CH-4711", "1968-04-02")
NAME = "Xanthippa Unverwechselbar"


@pytest.fixture
def erasing_admin(cast):
    return factories.make_member(cast.parties["practice"], "administrator")


@pytest.fixture
def told_case(cast, tell, run_jobs):
    """A delivered case with the name on papers, in a file's name and in a file's bytes."""
    patient = cast.patients["bridge"]
    PatientIdentity.objects.filter(patient=patient).update(
        name=NAME, chart_number="CH-4711", birth_date="1968-04-02"
    )
    patient.refresh_from_db()
    case = tell("crown", "deliver").case
    receive_file(
        case,
        by=cast.members["dentist"],
        stream=io.BytesIO(f"Letter about {NAME}".encode()),
        name=f"{NAME}.txt",
        slot=Slot(role="report"),
    )
    run_jobs()
    return case


def _close(case):
    Case.objects.filter(pk=case.pk).update(stage="cancelled", closed_at=timezone.now())


def _after_retention(case):
    return timezone.now() + timedelta(days=366 * (case.order.practice.retention_years + 1))


def _where_named():
    """Tables and stored files that hold a word of the patient's identity."""
    found = {
        f"{table}: {row[:80]}"
        for table, row in rows_of_tables(connection)
        if any(word in row for word in WORDS)
    }
    folder = settings.STORAGES["default"]["OPTIONS"]["location"]
    for path in (path for path in folder.rglob("*") if path.is_file()):
        data = path.read_bytes()
        text = _text_of(path) if data[:5] == b"%PDF-" else ""
        if any(word.encode() in data or word in text for word in WORDS):
            found.add(f"file {path.name}")
    return found


def _text_of(path):
    """The text of a print as pdftotext (poppler) finds it."""
    done = subprocess.run(["pdftotext", str(path), "-"], capture_output=True, check=True)
    return done.stdout.decode()


@pytest.mark.slow
def test_name_is_in_no_row_file_or_paper_and_all_still_verifies(
    told_case, erasing_admin, run_jobs, django_capture_on_commit_callbacks
):
    patient = told_case.order.patient
    assert {"file", "orders_patientidentity", "orders_paper", "casework_evidence"} <= {
        one.split(":")[0].split(" ")[0] for one in _where_named()
    }
    _close(told_case)
    shown = list(Preview.objects.values_list("storage_key", flat=True))
    assert shown

    with django_capture_on_commit_callbacks(execute=True):
        erase_patient(patient, by=erasing_admin, at=_after_retention(told_case))
    run_jobs()

    assert _where_named() == set()
    assert not Preview.objects.exists()
    assert {digest_of_stored(key) for key in shown} == {"missing"}
    assert first_break() is None
    assert {paper.state for paper in Paper.objects.all()} == {"printed"}
    for handoff in Handoff.objects.exclude(manifest=""):
        assert digest_of_bytes(handoff.manifest.encode()) == handoff.manifest_digest
        for line in handoff.files.select_related("evidence__derived"):
            assert digest_of_stored(line.evidence.derived.storage_key) == line.sha256
        told = {row["number"]: row["sha256"] for row in json.loads(handoff.manifest)["files"]}
        assert told == {row.evidence.number: row.sha256 for row in handoff.files.all()}
    for signature in Signature.objects.select_related("handoff"):
        assert signature.manifest_digest == signature.handoff.manifest_digest
    prescription = told_case.order.prescriptions.get(state="signed")
    ordered = Signature.objects.get(handoff__move="send_order")
    assert prescription.digest() == ordered.subject_digest
    for paper in Paper.objects.all():
        assert hashlib.sha256(paper.facts.encode()).hexdigest() == paper.facts_digest


def test_pictures_of_questions_go_as_well(
    dentist, laboratory, technician, practice_admin, django_capture_on_commit_callbacks
):
    case = make_ordered_case(dentist, laboratory)
    with coming() as shot:
        question = ask_question(case, by=technician, text="So?", pictures=[shot])
    (picture,) = question.pictures_asked
    assert digest_of_stored(picture.storage_key) == picture.sha256
    _close(case)

    with django_capture_on_commit_callbacks(execute=True):
        erase_patient(case.order.patient, by=practice_admin, at=_after_retention(case))

    assert digest_of_stored(picture.storage_key) == "missing"
    assert question.pictures.get().storage_key == ""


def test_before_the_retention_period_is_over_nothing_is_erased(case, practice_admin):
    _close(case)

    with pytest.raises(Refused) as refused, transaction.atomic():
        erase_patient(case.order.patient, by=practice_admin)

    years = case.order.practice.retention_years
    assert f"Records are kept for {years} years" in " ".join(refused.value.sentences)
    assert PatientIdentity.objects.filter(patient=case.order.patient).exists()


def test_open_case_stands_against_erasing(case, practice_admin):
    with pytest.raises(Refused, match="still open"):
        erase_patient(case.order.patient, by=practice_admin, at=_after_retention(case))


def test_page_says_why_not_yet_and_names_nobody(sign_in, case, practice_admin):
    url = reverse("patient_erase", args=[case.order.patient.code])
    client = sign_in(practice_admin)

    shown, pressed = client.get(url), client.post(url)

    assert shown.status_code == 200 and pressed.status_code == 409
    for answer in (shown, pressed, client.get(reverse("patients_to_erase"))):
        page = answer.content.decode()
        assert "A case of this patient is still open." in page and "Records are kept" in page
        assert "Quirina" not in page


def test_page_erases_once_the_time_has_come(sign_in, practice_admin, patient, monkeypatch):
    from casework.erasing import services as erasure

    later = timezone.now() + timedelta(days=366 * 40)
    monkeypatch.setattr(erasure.timezone, "now", lambda: later)
    client = sign_in(practice_admin)
    url = reverse("patient_erase", args=[patient.code])
    assert "Erase now" in client.get(url).content.decode()

    answer = client.post(url)

    assert answer.status_code == 302
    assert not PatientIdentity.objects.exists()
    assert client.get(url).status_code == 404
