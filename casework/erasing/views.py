"""On which pages does a practice's administrator erase patients whose time has come?"""

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import Http404
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _

from casework.erasing import services
from orders.parties.access import members_only
from orders.patients.queries import patient_of, patients_of
from orders.refusals import Refused
from orders.roles import PartyKind, Role


def _own_practice(request):
    if request.member.party.kind != PartyKind.PRACTICE:
        raise PermissionDenied
    return request.member.party


@members_only(Role.ADMINISTRATOR)
def patients_to_erase(request):
    """The practice's patients by their codes, and why each cannot be erased yet."""
    rows = [
        (patient, services.objections_to_erasing(patient))
        for patient in patients_of(_own_practice(request))
    ]
    return render(request, "casework/erasing/patients_to_erase.html", {"rows": rows})


@members_only(Role.ADMINISTRATOR)
def patient_erase(request, code):
    """Why a patient cannot be erased yet, or the last question before it is done."""
    patient = patient_of(_own_practice(request), code)
    if patient is None:
        raise Http404
    status, sentences = 200, []
    if request.method == "POST":
        try:
            services.erase_patient(patient, by=request.member)
        except Refused as refusal:
            status, sentences = 409, refusal.sentences
        else:
            said = _("What is personal of {code} is erased.").format(code=code)
            messages.success(request, said)
            return redirect("patients_to_erase")
    context = {
        "patient": patient,
        "objections": services.objections_to_erasing(patient),
        "sentences": sentences,
    }
    return render(request, "casework/erasing/erase.html", context, status=status)
