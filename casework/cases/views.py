"""The case page, and what is done with a case as a whole."""

from django.shortcuts import render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from casework.cases import services
from casework.cases.access import open_case
from casework.cases.forms import HoldForm, MemberForm
from casework.cases.overview import overview_of, trail_for
from casework.cases.pages import answer_form, answer_press
from orders.parties.access import members_only
from orders.parties.queries import members_with
from orders.roles import Role


@members_only()
def case_page(request, code):
    desk = open_case(request.member, code, area="overview")
    context = {"desk": desk, "case": desk.case, "overview": overview_of(desk)}
    return render(request, "casework/cases/case.html", context)


@members_only()
def hold(request, code):
    desk = open_case(request.member, code, act="hold")
    return answer_form(
        request,
        desk,
        HoldForm(request.POST or None, party=request.member.party),
        act=lambda typed: services.hold_case(desk.case, by=request.member, **typed),
        done=_("The case is on hold."),
        to=("case", code),
        title=_("Put on hold"),
    )


@require_POST
@members_only()
def release(request, code):
    desk = open_case(request.member, code, act="hold")
    return answer_press(
        request,
        act=lambda: services.release_case(desk.case, by=request.member),
        done=_("The case goes on."),
        to=("case", code),
    )


@members_only()
def assign(request, code):
    desk = open_case(request.member, code, act="assign")
    members = members_with(request.member.party)
    form = MemberForm(request.POST or None, members=members, may_be_nobody=True)
    return answer_form(
        request,
        desk,
        form,
        act=lambda typed: services.assign_case(
            desk.case, by=request.member, member=form.chosen()
        ),
        done=_("The case was given over."),
        to=("case", code),
        title=_("Give the case to"),
    )


@members_only()
def prescriber(request, code):
    desk = open_case(request.member, code, act="pass prescriber")
    members = members_with(request.member.party, Role.DENTIST)
    form = MemberForm(request.POST or None, members=members)
    return answer_form(
        request,
        desk,
        form,
        act=lambda typed: services.pass_to_prescriber(
            desk.case, by=request.member, member=form.chosen()
        ),
        done=_("The case was passed on; the new prescriber signs anew."),
        to=("case", code),
        title=_("Pass to another prescriber"),
    )


@members_only()
def trail(request, code):
    desk = open_case(request.member, code, area="trail")
    context = {"desk": desk, "case": desk.case, "lines": trail_for(desk)[::-1]}
    return render(request, "casework/audit/trail.html", context)
