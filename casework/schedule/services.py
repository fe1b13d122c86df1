"""How is a visit booked, moved and ended, and when is a party closed?"""

from datetime import timedelta
from zoneinfo import ZoneInfo

from django.core.exceptions import PermissionDenied
from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from casework.audit.services import record
from casework.cases.access import require
from casework.cases.models import Case
from casework.cases.services import refresh_summary
from casework.schedule import rules
from casework.schedule.models import Appointment, ClosingDay
from casework.schedule.queries import (
    booked_visit,
    calendar_of,
    front_desk_of,
    kinds_to_book,
    local_day,
    visits_before_arrival,
)
from orders.records import save_record
from orders.refusals import Refused
from orders.roles import Role

__all__ = [
    "book_visit",
    "confirm_tools",
    "end_visit",
    "move_visit",
    "open_again",
    "close_days",
    "visits_before_arrival",
]


def _refuse(objections):
    if objections:
        raise Refused(*(_(sentence) for sentence in objections))


def _objections(case, visit, now, booked_at):
    practice = case.order.practice
    desk = front_desk_of(case)
    return rules.objections_to_visit(
        kind=visit.kind,
        kinds=kinds_to_book(case),
        starts_at=visit.at,
        visit_on=local_day(visit, practice),
        minutes=visit.minutes,
        now=now,
        reason=visit.reason,
        parts_here=desk.parts_here and desk.kind == visit.kind,
        expected_on=desk.parts_expected_on or case.promised_on,
        calendar=calendar_of(practice),
        booked_at=booked_at,
    )


def _said(visit, practice):
    return f"{visit.at.astimezone(ZoneInfo(practice.time_zone)):%Y-%m-%d %H:%M}"


def book_visit(case, *, by, kind, starts_at, minutes, reason="", tools_ready=False, at=None):
    """Book the patient for a try-in, the delivery or a follow-up visit.

    Before the parts can be there, or on a day the practice is closed, only with a reason.
    """
    at = at or timezone.now()
    with transaction.atomic():
        case = (
            Case.objects.select_for_update(of=("self",), no_key=True)
            .select_related("order__practice")
            .get(pk=case.pk)
        )
        require(case, by, "book visit")
        visit = Appointment(
            case=case,
            kind=kind,
            at=starts_at,
            minutes=minutes,
            reason=reason,
            tools_ready=tools_ready,
        )
        booked = booked_visit(case, kind)
        _refuse(
            _objections(case, visit, at, _said(booked, case.order.practice) if booked else "")
        )
        save_record(visit, by=by, case=case.code)
        refresh_summary(case)
    return visit


def _open_visit(visit, by):
    visit = (
        Appointment.objects.select_for_update(of=("self",), no_key=True)
        .select_related("case__order__practice", "case__order__patient")
        .get(pk=visit.pk)
    )
    require(visit.case, by, "book visit")
    if visit.state != rules.BOOKED:
        raise Refused(_("The visit is {state} already.").format(state=visit.state))
    return visit


def move_visit(visit, *, by, starts_at, minutes=None, reason="", seen_revision=None, at=None):
    """Move a booked visit to another time."""
    at = at or timezone.now()
    with transaction.atomic():
        visit = _open_visit(visit, by)
        visit.at, visit.reason = starts_at, reason
        visit.minutes = visit.minutes if minutes is None else minutes
        _refuse(_objections(visit.case, visit, at, ""))
        save_record(visit, by=by, case=visit.case.code, seen_revision=seen_revision)
        refresh_summary(visit.case)
    return visit


def end_visit(visit, *, by, state, seen_revision=None, at=None):
    """Say what became of a booked visit: done, missed or cancelled."""
    at = at or timezone.now()
    with transaction.atomic():
        visit = _open_visit(visit, by)
        if state not in rules.ENDS:
            raise Refused(_("A visit was done, missed or cancelled."))
        if state != rules.CANCELLED and visit.at > at + timedelta(hours=12):
            raise Refused(_("The visit is still to come. Cancel it, or move it."))
        visit.state = state
        save_record(visit, by=by, case=visit.case.code, seen_revision=seen_revision)
        refresh_summary(visit.case)
    return visit


def confirm_tools(visit, *, by, ready=True, seen_revision=None, at=None):
    """Note that the driver and the torque wrench for this visit are in the house."""
    with transaction.atomic():
        visit = _open_visit(visit, by)
        visit.tools_ready = ready
        save_record(visit, by=by, case=visit.case.code, seen_revision=seen_revision)
        refresh_summary(visit.case)
    return visit


def _require_administrator(by):
    if not by.has(Role.ADMINISTRATOR):
        raise PermissionDenied


def _say_calendar(by, day, what, at):
    record(
        "calendar.changed",
        subject=f"{by.party._meta.label}:{by.party_id}",
        by=by,
        facts={"day": day, "what": what},
        at=at,
    )


def close_days(*, by, first, last=None, why="", at=None):
    """Enter days on which the party does not work; those entered already stay as they are."""
    last = last or first
    _require_administrator(by)
    if last < first:
        raise Refused(_("The last closing day is before the first one."))
    if last - first > timedelta(days=366):
        raise Refused(_("Enter at most a year of closing days at once."))
    with transaction.atomic():
        days = [first + timedelta(days=n) for n in range((last - first).days + 1)]
        known = set(
            ClosingDay.objects.filter(party=by.party, day__in=days).values_list(
                "day", flat=True
            )
        )
        ClosingDay.objects.bulk_create(
            ClosingDay(party=by.party, day=day, why=why) for day in days if day not in known
        )
        said = first.isoformat() if first == last else f"{first} - {last}"
        _say_calendar(by, said, why or _("closed"), at)


def open_again(*, by, day, at=None):
    """Take a closing day out again."""
    _require_administrator(by)
    with transaction.atomic():
        gone, _rows = ClosingDay.objects.filter(party=by.party, day=day).delete()
        if not gone:
            raise Refused(_("No closing day is entered for {day}.").format(day=day))
        _say_calendar(by, day.isoformat(), _("open again"), at)
