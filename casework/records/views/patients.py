"""Pages of the practice's patients: found, entered, corrected, a case opened."""

from django.core.exceptions import PermissionDenied
from django.http import Http404
from django.shortcuts import render
from django.utils.translation import gettext as _

from casework.cases.pages import answer_form, typed_in
from casework.cases.queries import last_laboratory_of, visible_to
from casework.cases.services import open_case_for
from casework.records.forms import OpenCaseForm
from orders.parties.access import members_only
from orders.parties.queries import partners_of
from orders.patients.forms import PatientForm, SearchForm
from orders.patients.queries import find_patients, patient_of
from orders.patients.services import ENTERS, change_identity, enter_patient
from orders.roles import PartyKind, Role

SEES_PATIENTS = (
    Role.DENTIST,
    Role.SURGEON,
    Role.ASSISTANT,
    Role.HYGIENIST,
    Role.FRONT_DESK,
)
_FORM = "orders/patients/form.html"


def _practice_only(member):
    if member.party.kind != PartyKind.PRACTICE:
        raise PermissionDenied


def _patient(member, code):
    _practice_only(member)
    patient = patient_of(member.party, code)
    if patient is None:
        raise Http404
    return patient


@members_only(*SEES_PATIENTS)
def patients(request):
    _practice_only(request.member)
    form = SearchForm(request.GET or None)
    text = form.cleaned_data["q"] if form.is_bound and form.is_valid() else ""
    context = {
        "form": form,
        "text": text,
        "patients": find_patients(request.member.party, text),
        "may_enter": request.member.has(*ENTERS),
    }
    return render(request, "orders/patients/list.html", context)


@members_only(*ENTERS)
def patient_add(request):
    _practice_only(request.member)
    form = PatientForm(typed_in(request), party=request.member.party)
    return answer_form(
        request,
        None,
        form,
        act=lambda told: enter_patient(by=request.member, **told),
        done=_("The patient is on record."),
        to=lambda entered: ("patient", entered.code),
        template=_FORM,
        title=_("Enter a patient"),
    )


@members_only(*SEES_PATIENTS)
def patient(request, code):
    row = _patient(request.member, code)
    context = {
        "patient": row,
        "cases": visible_to(request.member).filter(order__patient=row).order_by("-pk"),
        "may_enter": request.member.has(*ENTERS),
        "may_open": request.member.has(Role.DENTIST),
    }
    return render(request, "orders/patients/patient.html", context)


@members_only(*ENTERS)
def patient_edit(request, code):
    row = _patient(request.member, code)
    identity = row.identity
    initial = {
        "name": identity.name,
        "birth_date": identity.birth_date,
        "chart_number": identity.chart_number,
        "sex": row.sex,
    }
    form = PatientForm(typed_in(request), initial=initial, party=request.member.party)

    def act(told):
        changed = {name: told[name] for name in form.changed_data}
        return change_identity(row, by=request.member, **changed)

    return answer_form(
        request,
        None,
        form,
        act=act,
        done=_("What identifies the patient is corrected."),
        to=("patient", code),
        template=_FORM,
        title=_("Correct a patient's record"),
        patient=row,
    )


@members_only(Role.DENTIST)
def patient_open_case(request, code):
    row = _patient(request.member, code)
    laboratories = partners_of(request.member.party, PartyKind.LABORATORY)
    last = last_laboratory_of(request.member)
    proposed = [last] if last in laboratories else laboratories
    initial = {"laboratory": proposed[0]} if len(proposed) == 1 else {}
    form = OpenCaseForm(typed_in(request), initial=initial, laboratories=laboratories)
    return answer_form(
        request,
        None,
        form,
        act=lambda told: open_case_for(row, by=request.member, laboratory=told["laboratory"]),
        done=_("The case is open, with a draft of its prescription."),
        to=lambda case: ("case", case.code),
        template=_FORM,
        title=_("Open a case"),
        patient=row,
    )
