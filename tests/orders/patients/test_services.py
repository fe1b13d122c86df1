"""Is a patient entered, corrected, found and erased as the rules say?"""

from datetime import UTC, date, datetime

import pytest
from django.core.exceptions import PermissionDenied

from casework.audit.models import Entry
from orders.patients import queries, services
from orders.patients.models import Patient, PatientIdentity
from orders.refusals import Refused
from tests.factories import make_party, make_patient

AT = datetime(2026, 4, 1, 9, tzinfo=UTC)


def test_patient_gets_a_code_and_an_age_band(front_desk):
    patient = services.enter_patient(
        by=front_desk, name=" Quirina Testperson ", birth_date=date(1968, 4, 2), at=AT
    )

    assert patient.age_band == "50-59"
    assert patient.identity.name == "Quirina Testperson"
    entry = Entry.objects.get(kind="patient.entered")
    assert "Testperson" not in entry.text


def test_technician_enters_no_patient(technician):
    with pytest.raises(PermissionDenied):
        services.enter_patient(by=technician, name="Quirina Testperson")

    assert not Patient.objects.exists()


def test_only_the_fields_named_are_corrected(front_desk, patient):
    services.change_identity(patient, by=front_desk, chart_number="C-9")

    identity = PatientIdentity.objects.get(patient=patient)
    assert (identity.name, identity.chart_number) == ("Quirina Testperson", "C-9")


def test_e10_birth_in_the_future_changes_nothing(front_desk, patient):
    with pytest.raises(Refused, match="future"):
        services.change_identity(patient, by=front_desk, birth_date=date(2031, 1, 1), at=AT)

    assert PatientIdentity.objects.get(patient=patient).birth_date == date(1968, 4, 2)


def test_e08_search_finds_every_apostrophe(practice):
    found = make_patient(practice, name="Nora O\u2019Brien")
    make_patient(practice, name="Robert'); DROP TABLE case;--")

    assert queries.find_patients(practice, "O'Brien") == [found]
    assert queries.find_patients(practice, "o\u2019brien nora") == [found]


def test_search_knows_chart_number_code_and_case_code(practice, case):
    patient = case.order.patient
    make_patient(practice, name="Somebody Else", chart_number="C-7")

    assert queries.find_patients(practice, case.code.lower()) == [patient]
    assert queries.find_patients(practice, patient.code) == [patient]
    assert [row.identity.name for row in queries.find_patients(practice, "c-7")] == [
        "Somebody Else"
    ]


def test_another_practice_finds_nobody(patient):
    assert queries.find_patients(make_party(), "Testperson") == []


def test_erasing_is_refused_before_its_day_with_the_reason(practice_admin, patient):
    with pytest.raises(Refused, match="15 years after the last entry"):
        services.erase_identity(
            patient, by=practice_admin, last_entry_on=date(2026, 4, 1), at=AT
        )

    assert PatientIdentity.objects.filter(patient=patient).exists()


def test_erasing_leaves_the_code_and_no_name(practice_admin, patient):
    services.erase_identity(patient, by=practice_admin, last_entry_on=date(2010, 4, 1), at=AT)

    patient.refresh_from_db()
    assert patient.erased_at == AT
    assert not PatientIdentity.objects.exists()
    assert queries.find_patients(patient.practice, patient.code) == []


def test_name_is_shown_outside_only_where_the_practice_chose_so(technician, patient):
    assert queries.name_for(patient, technician) == ""

    patient.practice.shows_patient_name = True

    assert queries.name_for(patient, technician) == "Quirina Testperson"
