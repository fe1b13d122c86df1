"""How is a patient erased once the records need be kept no longer?

The identity row goes, and with it every place that held a personal value: original files (what
was handed over stays, names were never in it), papers printed with the name, names of files as
the practice's computers called them. Codes, digests, manifests, signatures and the chain stay
and still verify, since none of them ever held a personal value.
"""

from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from casework.audit.services import record
from casework.cases.models import Case
from casework.evidence.services import erase_personal
from orders.documents.services import erase_prints
from orders.patients.models import Patient, PatientIdentity
from orders.patients.rules import may_erase_from
from orders.refusals import Refused
from orders.roles import Role


def last_entry_on(patient):
    """The day of the last entry in any case of the patient."""
    from casework.audit.models import Entry

    codes = [order.code for order in patient.orders.all()]
    last = Entry.objects.filter(case__in=codes).order_by("-at").first()
    return (last.at if last else patient.entered_at).date()


def objections_to_erasing(patient, *, on):
    """Why the patient cannot be erased on that day; empty when nothing stands against it."""
    if patient.erased_at:
        return (_("What is personal of this patient was erased already."),)
    found = []
    if Case.objects.filter(order__patient=patient, closed_at=None).exists():
        found.append(_("A case of this patient is still open. Close or cancel it first."))
    identity = PatientIdentity.objects.filter(patient=patient).first()
    earliest = may_erase_from(
        last_entry_on(patient),
        identity.birth_date if identity else None,
        patient.practice.retention_years,
    )
    if on < earliest.day:
        found.append(earliest.reason)
    return tuple(found)


def erase_patient(patient, *, by, at=None):
    """Erase what is personal; refuses before the retention period has passed."""
    at = at or timezone.now()
    if not by.has(Role.ADMINISTRATOR) or by.party_id != patient.practice_id:
        raise Refused(_("Only an administrator of the patient's practice may do this."))
    with transaction.atomic():
        if objections := objections_to_erasing(patient, on=at.date()):
            raise Refused(*objections)
        for case in Case.objects.filter(order__patient=patient):
            for evidence in case.evidence.all():
                erase_personal(evidence)
            erase_prints(case.order)
        PatientIdentity.objects.filter(patient=patient).delete()
        Patient.objects.filter(pk=patient.pk).update(erased_at=at)
        record(
            "patient.erased",
            subject=f"{patient._meta.label}:{patient.pk}",
            by=by,
            facts={"patient": patient.code},
            at=at,
        )
