"""Pages of the visits: who can come when, booking and moving; closing days of a party."""

from django.http import Http404
from django.shortcuts import get_object_or_404, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from casework.cases.access import open_case
from casework.cases.pages import answer_form, answer_press, typed_in
from casework.fabrication.queries import parcels_for
from casework.fabrication.services import expect_parcel
from casework.schedule import queries, rules, services
from casework.schedule.forms import ArrivalForm, ClosingDaysForm, VisitForm
from casework.stages import Side
from casework.visits.queries import (
    delivery_of,
    follow_ups_of,
    screw_lines,
    try_ins_of,
    yearly_visits_of,
)
from orders.parties.access import members_only
from orders.roles import Role
from orders.typed.days import read_day
from orders.typed.text import TypedUnreadable
from orders.typing_fields import today_at


@members_only()
def visits_page(request, code):
    desk = open_case(request.member, code, area="visits")
    case = desk.case
    context = {
        "desk": desk,
        "case": case,
        "front_desk": queries.front_desk_of(case),
        "appointments": queries.appointments_of(case),
        "kinds": queries.kinds_to_book(case) if desk.may("book visit") else (),
        "sees_records": desk.sees("records"),
        "try_ins": try_ins_of(case),
        "try_in_number": max(case.try_in_count, 1),
        "screws": screw_lines(case),
        "delivery": delivery_of(case),
        "follow_ups": follow_ups_of(case),
        "yearly": yearly_visits_of(case),
        "today": today_at(request.member.party),
    }
    return render(request, "casework/schedule/visits.html", context)


@members_only()
def book(request, code):
    desk = open_case(request.member, code, area="visits", act="book visit")
    kinds = queries.kinds_to_book(desk.case)
    due = queries.kind_due(desk.case)
    form = VisitForm(
        typed_in(request),
        party=request.member.party,
        kinds=kinds,
        initial={"kind": due, "minutes": rules.minutes_needed(due)},
    )
    return answer_form(
        request,
        desk,
        form,
        title=_("Book a visit"),
        back="case_visits",
        act=lambda typed: services.book_visit(desk.case, by=request.member, **form.said()),
        done=_("The visit is booked."),
        warn=lambda visit: services.visits_before_arrival(desk.case),
        to=("case_visits", code),
    )


def _visit_for(desk, pk):
    return get_object_or_404(queries.appointments_of(desk.case), pk=pk)


@members_only()
def move(request, code, pk):
    desk = open_case(request.member, code, area="visits", act="book visit")
    visit = _visit_for(desk, pk)
    party = request.member.party
    form = VisitForm(
        typed_in(request),
        party=party,
        initial=VisitForm.initial_of(visit, party.time_zone),
    )
    return answer_form(
        request,
        desk,
        form,
        title=_("Move the visit: {kind}").format(kind=visit.kind),
        back="case_visits",
        act=lambda typed: services.move_visit(
            visit, by=request.member, seen_revision=typed["seen_revision"], **form.said()
        ),
        done=_("The visit is moved."),
        warn=lambda visit: services.visits_before_arrival(desk.case),
        to=("case_visits", code),
    )


@require_POST
@members_only()
def end(request, code, pk):
    desk = open_case(request.member, code, area="visits", act="book visit")
    visit, state = _visit_for(desk, pk), request.POST.get("state", "")
    return answer_press(
        request,
        act=lambda: services.end_visit(visit, by=request.member, state=state),
        done=_("The visit is noted as {state}.").format(state=state),
        to=("case_visits", code),
    )


@require_POST
@members_only()
def tools(request, code, pk):
    desk = open_case(request.member, code, area="visits", act="book visit")
    visit = _visit_for(desk, pk)
    return answer_press(
        request,
        act=lambda: services.confirm_tools(
            visit, by=request.member, ready=request.POST.get("ready") != "no"
        ),
        done=_("Noted for this visit: driver and torque wrench."),
        to=("case_visits", code),
    )


@members_only()
def expect(request, code, pk):
    """The parcel comes on another day: said by its sender or its receiver."""
    desk = open_case(request.member, code, area="parts")
    parcel = get_object_or_404(parcels_for(desk), pk=pk)
    is_sender = parcel.from_party_id == request.member.party_id
    desk = open_case(
        request.member, code, area="parts", act="pack parcel" if is_sender else "count parcel"
    )
    form = ArrivalForm(
        typed_in(request),
        party=request.member.party,
        initial={"expected_on": parcel.expected_on},
    )
    return answer_form(
        request,
        desk,
        form,
        title=_("When the parcel should arrive"),
        back="case_parts",
        act=lambda typed: expect_parcel(parcel, by=request.member, **typed),
        done=_("The day of arrival is changed."),
        warn=lambda parcel: _early_visits(desk),
        to=("parcel", code, pk),
    )


def _early_visits(desk):
    """Visits are the practice's business alone."""
    return services.visits_before_arrival(desk.case) if desk.side == Side.PRACTICE else ()


@members_only(Role.ADMINISTRATOR)
def closing_days(request):
    party = request.member.party
    form = ClosingDaysForm(typed_in(request), party=party)
    calendar = queries.calendar_of(party)
    return answer_form(
        request,
        None,
        form,
        template="casework/schedule/closing_days.html",
        days=queries.closing_days_of(party, since=today_at(party)),
        calendar=calendar,
        holidays=queries.holidays_ahead(calendar, today_at(party)),
        act=lambda typed: services.close_days(by=request.member, **typed),
        done=_("The closing days are entered."),
        to=("closing_days",),
    )


@require_POST
@members_only(Role.ADMINISTRATOR)
def open_again(request):
    try:
        day = read_day(request.POST.get("day", ""), field="day")
    except TypedUnreadable:
        raise Http404 from None
    return answer_press(
        request,
        act=lambda: services.open_again(by=request.member, day=day),
        done=_("The day is taken out."),
        to=("closing_days",),
    )
