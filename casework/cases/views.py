"""The case page, and what is done with a case as a whole."""

from django.contrib import messages
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from casework.cases import services
from casework.cases.access import open_case
from casework.cases.forms import HoldForm, MemberForm
from casework.cases.overview import overview_of
from orders.parties.access import members_only
from orders.parties.queries import members_with
from orders.refusals import Refused
from orders.roles import Role


@members_only()
def case_page(request, code):
    desk = open_case(request.member, code, area="overview")
    context = {"desk": desk, "case": desk.case, "overview": overview_of(desk)}
    return render(request, "casework/cases/case.html", context)


@members_only()
def hold(request, code):
    desk = open_case(request.member, code, act="hold")
    form = HoldForm(request.POST or None, party=request.member.party)
    return _form_page(
        request,
        desk,
        form,
        title=_("Put on hold"),
        act=lambda: services.hold_case(
            desk.case,
            by=request.member,
            reason=form.cleaned_data["reason"],
            look_again_on=form.cleaned_data["look_again_on"],
        ),
        done=_("The case is on hold."),
    )


@require_POST
@members_only()
def release(request, code):
    desk = open_case(request.member, code, act="hold")
    services.release_case(desk.case, by=request.member)
    messages.success(request, _("The case goes on."))
    return redirect("case", code)


@members_only()
def assign(request, code):
    desk = open_case(request.member, code, act="assign")
    members = members_with(request.member.party)
    form = MemberForm(request.POST or None, members=members, may_be_nobody=True)
    return _form_page(
        request,
        desk,
        form,
        title=_("Give the case to"),
        act=lambda: services.assign_case(desk.case, by=request.member, member=form.chosen()),
        done=_("The case was given over."),
    )


@members_only()
def prescriber(request, code):
    desk = open_case(request.member, code, act="pass prescriber")
    members = members_with(request.member.party, Role.DENTIST)
    form = MemberForm(request.POST or None, members=members)
    return _form_page(
        request,
        desk,
        form,
        title=_("Pass to another prescriber"),
        act=lambda: services.pass_to_prescriber(
            desk.case, by=request.member, member=form.chosen()
        ),
        done=_("The case was passed on; the new prescriber signs anew."),
    )


def _form_page(request, desk, form, *, title, act, done):
    """One form about the case: shown, refused with its sentences, or done."""
    status, sentences = 200, []
    if request.method == "POST":
        status = 422
        if form.is_valid():
            try:
                act()
            except Refused as refusal:
                status, sentences = 409, refusal.sentences
            else:
                messages.success(request, done)
                return redirect("case", desk.case.code)
    context = {
        "desk": desk,
        "case": desk.case,
        "form": form,
        "title": title,
        "sentences": sentences,
    }
    return render(request, "casework/cases/form.html", context, status=status)
