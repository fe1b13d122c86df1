"""The page on which an order is prescribed, with what it still lacks beside it."""

import copy

from django.contrib import messages
from django.http import Http404
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from casework.cases.access import open_case
from casework.cases.pages import answer_press, typed_in
from casework.records import services
from orders.catalogue.queries import materials_for
from orders.implants.queries import implants_of
from orders.parties.access import members_only
from orders.prescriptions import services as orders_services
from orders.prescriptions.forms import PrescriptionForms
from orders.prescriptions.queries import draft_of, last_choices, prescriptions_of, signed_of
from orders.records import ChangedMeanwhile
from orders.refusals import Refused
from orders.typing_fields import today_at


@members_only()
def prescription(request, code):
    """What is prescribed, revision by revision, and what is missing from the current one."""
    desk = open_case(request.member, code, area="prescription")
    order = desk.case.order
    current = _shown(desk)
    missing, incoherent = _objections(current) if current else ((), ())
    context = {
        "desk": desk,
        "case": desk.case,
        "prescription": current,
        "all": [row for row in prescriptions_of(order) if _may_see(desk, row)],
        "draft": draft_of(order),
        "missing": missing,
        "incoherent": incoherent,
        "may_write": desk.may("write prescription"),
        "may_send": _may_send(desk, missing, incoherent),
    }
    return render(request, "casework/records/prescription.html", context)


def _may_send(desk, missing, incoherent):
    """Whether sending is what comes next: nothing stands against the prescription."""
    is_whole = not missing and not incoherent
    return is_whole and any(move.name == "send_order" for move in desk.moves)


def _may_see(desk, row):
    """Outside the practice a draft does not exist."""
    return row.state != "draft" or desk.member.party_id == desk.case.order.practice_id


def _shown(desk):
    rows = (draft_of(desk.case.order), signed_of(desk.case.order))
    return next((row for row in rows if row and _may_see(desk, row)), None)


def _objections(row):
    return orders_services.objections_to(row, today=today_at(row.order.practice))


@members_only()
def prescription_edit(request, code):
    desk = open_case(request.member, code, act="write prescription")
    draft = draft_of(desk.case.order)
    if draft is None:
        messages.error(request, _("The prescription is signed. Begin an amendment first."))
        return redirect("case_prescription", code)
    forms = _forms(desk, draft, typed_in(request))
    status, sentences, stands = 200, [], None
    if request.method == "POST":
        status = 422
        if forms.is_valid():
            try:
                services.write_prescription(
                    desk.case,
                    by=request.member,
                    prescription=draft,
                    seen_revision=forms.seen_revision,
                    **forms.typed(),
                )
            except ChangedMeanwhile as changed:
                status, sentences, stands = 409, [str(changed)], changed.current
                forms.see(changed.current.revision)
            except Refused as refusal:
                status, sentences = 409, refusal.sentences
            else:
                messages.success(request, _("The draft is saved."))
                return redirect("case_prescription_edit", code)
    context = _edit_context(desk, draft, forms) | {"sentences": sentences, "stands": stands}
    template = "casework/records/prescription_edit.html"
    return render(request, template, context, status=status)


def _forms(desk, draft, data):
    order = desk.case.order
    sites = [implant.site for implant in implants_of(order.patient)]
    fresh = draft.revision == 1 and draft.number == 1
    return PrescriptionForms(
        draft,
        data=data,
        party=order.practice,
        sites=sites,
        materials=materials_for(order.practice, order.laboratory),
        proposed=last_choices(order) | _crown_on(sites) if fresh else None,
    )


def _crown_on(sites):
    """On a single implant a single crown is proposed; more of them may be anything."""
    return {"rows": [{"teeth": tuple(sites), "made_as": "single"}]} if len(sites) == 1 else {}


def _edit_context(desk, draft, forms):
    missing, incoherent = _objections(_as_typed(draft, forms))
    return {
        "desk": desk,
        "case": desk.case,
        "draft": draft,
        "forms": forms,
        "missing": missing,
        "incoherent": incoherent,
        "is_unreadable": forms.data is not None and not forms.is_valid(),
        "may_send": forms.data is None and _may_send(desk, missing, incoherent),
    }


def _as_typed(draft, forms):
    """The draft as it would be saved; as it stands where something is unreadable."""
    if forms.data is None or not forms.is_valid():
        return draft
    looked_at = copy.copy(draft)
    for name, value in forms.typed().items():
        setattr(looked_at, name, value)
    orders_services.tidy(looked_at)
    return looked_at


@require_POST
@members_only()
def prescription_look(request, code):
    """What is missing from what is typed at this moment; nothing is saved."""
    desk = open_case(request.member, code, act="write prescription")
    draft = draft_of(desk.case.order)
    if draft is None:
        raise Http404
    context = _edit_context(desk, draft, _forms(desk, draft, request.POST))
    return render(request, "casework/records/_objections.html", context)


@require_POST
@members_only()
def prescription_amend(request, code):
    desk = open_case(request.member, code, act="write prescription")
    return answer_press(
        request,
        act=lambda: services.amend_prescription(desk.case, by=request.member),
        done=_("An amendment was begun as a copy. It counts once it is signed."),
        to=("case_prescription_edit", code),
    )


@require_POST
@members_only()
def prescription_withdraw(request, code):
    desk = open_case(request.member, code, act="write prescription")
    draft = draft_of(desk.case.order)
    if draft is None:
        raise Http404
    return answer_press(
        request,
        act=lambda: services.withdraw_amendment(
            desk.case, by=request.member, prescription=draft
        ),
        done=_("The amendment was withdrawn; the signed prescription stays in force."),
        to=("case_prescription", code),
    )
