"""Which patients has a practice, and what is each called?"""

from django.db.models import Count

from orders.patients.models import Patient, PatientIdentity
from orders.patients.rules import searchable
from orders.roles import PartyKind, sees_patient_name


def patients_of(practice):
    """The practice's patients whose personal data stand, by name."""
    return (
        Patient.objects.filter(practice=practice, erased_at=None)
        .select_related("identity")
        .annotate(order_count=Count("orders"))
        .order_by("identity__name", "pk")
    )


def find_patients(practice, text="", *, most=50):
    """Patients whose name, chart number, code or case code has all the words of `text`.

    Compared without accents, case and kinds of apostrophe, which databases do differently.
    """
    words = searchable(text).split()
    if not words:
        return list(patients_of(practice)[:most])
    found = []
    rows = PatientIdentity.objects.filter(patient__practice=practice).values_list(
        "patient_id", "name", "chart_number", "patient__code"
    )
    for patient_id, *told in rows.iterator():
        held = searchable(" ".join(told))
        if all(word in held for word in words):
            found.append(patient_id)
        if len(found) == most:
            break
    by_order = Patient.objects.filter(
        practice=practice, erased_at=None, orders__code__iexact=text.strip()
    )
    found += by_order.values_list("pk", flat=True)
    return list(patients_of(practice).filter(pk__in=found)[:most])


def patient_of(practice, code):
    """The patient of that code at the practice, or None."""
    return patients_of(practice).filter(code=code).first()


def names_of(patient):
    """What the patient is called; nothing once that was erased."""
    return list(PatientIdentity.objects.filter(patient=patient).values_list("name", flat=True))


def names_in_order(code):
    """What the patient of an order is called; nothing once that was erased."""
    rows = PatientIdentity.objects.filter(patient__orders__code=code)
    return list(rows.values_list("name", flat=True))


def birth_date_of(patient):
    """The birth date, or None where it is not known or was erased."""
    return (
        PatientIdentity.objects.filter(patient=patient)
        .values_list("birth_date", flat=True)
        .first()
    )


def name_for(patient, member):
    """The patient's name where this member may see it, else ""."""
    if member.party.kind == PartyKind.PRACTICE:
        may = member.party_id == patient.practice_id
    else:
        may = sees_patient_name(
            PartyKind(member.party.kind), member.role_set, patient.practice.shows_patient_name
        )
    return next(iter(names_of(patient)), "") if may else ""
