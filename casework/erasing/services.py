"""How is a patient erased once the records need be kept no longer?

The identity row goes, and with it every place that held a personal value: original files (what
was handed over stays, names were never in it), papers printed with the name, names of files as
the practice's computers called them, pictures of questions, since a screen may show a name.
Codes, digests, manifests, signatures and the chain stay
and still verify, since none of them ever held a personal value.
"""

from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from casework.audit.models import Entry
from casework.cases.models import Case
from casework.evidence.services import erase_personal
from casework.previews.making import erase_previews
from casework.questions.services import erase_pictures
from orders.documents.services import erase_prints
from orders.patients.queries import birth_date_of
from orders.patients.rules import may_erase_from
from orders.patients.services import erase_identity
from orders.refusals import Refused


def last_entry_on(patient):
    """The day of the last entry in any case of the patient."""
    codes = [order.code for order in patient.orders.all()]
    last = Entry.objects.filter(case__in=codes).order_by("-at").first()
    return (last.at if last else patient.entered_at).date()


def objections_to_erasing(patient, at=None):
    """Why the patient cannot be erased yet: a case that is open, records still to be kept."""
    found = []
    if Case.objects.filter(order__patient=patient, closed_at=None).exists():
        found.append(_("A case of this patient is still open. Close or cancel it first."))
    first = may_erase_from(
        last_entry_on(patient), birth_date_of(patient), patient.practice.retention_years
    )
    if (at or timezone.now()).date() < first.day:
        found.append(first.reason)
    return tuple(found)


def erase_patient(patient, *, by, at=None):
    """Erase what is personal; refuses before the retention period has passed."""
    with transaction.atomic():
        if objections := objections_to_erasing(patient, at):
            raise Refused(*objections)
        erase_identity(patient, by=by, last_entry_on=last_entry_on(patient), at=at)
        for case in Case.objects.filter(order__patient=patient).select_related("order"):
            for evidence in case.evidence.all():
                erase_personal(evidence)
                erase_previews(evidence)
            erase_pictures(case)
            erase_prints(case.order)
