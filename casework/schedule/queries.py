"""When does a party work, which visits are booked, and what is missing for the next one?"""

from dataclasses import dataclass, field
from datetime import date
from zoneinfo import ZoneInfo

from casework.cases.queries import signed_prescription, sites_of
from casework.fabrication import rules as bench
from casework.fabrication.queries import current_parts, parcel_under_way
from casework.schedule import rules
from casework.schedule.models import Appointment, ClosingDay
from casework.stages import Side, Stage
from casework.visits.queries import follow_ups_of, next_follow_up

# From here on parts are made; before, nobody can be ready for anything.
_MADE_FROM = (Stage.FABRICATION, Stage.MILLING, Stage.TRY_IN, Stage.DELIVERY)


def calendar_of(party):
    """The working calendar of a party."""
    rows = ClosingDay.objects.filter(party=party)
    return rules.Calendar(
        party=party.name,
        country=party.country,
        region=party.region,
        closing_days=dict(rows.values_list("day", "why")),
    )


def is_working_day(party, day):
    """Does the party work on this day?"""
    return calendar_of(party).is_working_day(day)


def add_working_days(party, day, count):
    """The party's working day that lies so many after `day`."""
    return calendar_of(party).add_working_days(day, count)


def closing_days_of(party, since=None):
    """The party's own closing days, first one first."""
    rows = ClosingDay.objects.filter(party=party).order_by("day")
    return rows.filter(day__gte=since) if since else rows


def appointments_of(case):
    """All visits booked for a case, newest first."""
    return case.appointments.order_by("-at", "-pk")


def booked_visit(case, kind=None):
    """The next visit that is booked (of a kind), or None."""
    rows = case.appointments.filter(state=rules.BOOKED)
    return (rows.filter(kind=kind) if kind else rows).order_by("at", "pk").first()


def holidays_ahead(calendar, today, count=12):
    """The next public holidays a party does not work on, as (day, name)."""
    found = {}
    for year in (today.year, today.year + 1):
        found |= rules.public_holidays(calendar.country, calendar.region, year) or {}
    return sorted((day, name) for day, name in found.items() if day >= today)[:count]


def local_day(visit, party):
    """The day of a visit where the practice is."""
    return visit.at.astimezone(ZoneInfo(party.time_zone)).date()


def kinds_to_book(case):
    """The visits that may be booked for a case as it stands."""
    if case.stage == Stage.RECALL:
        return tuple(follow_ups_of(case).filter(done_on=None).values_list("name", flat=True))
    return (rules.TRY_IN, rules.DELIVERY)


def kind_due(case):
    """The visit the case goes toward; "" before parts are made and once all is done."""
    if case.stage in (Stage.TRY_IN, Stage.DELIVERY):
        return rules.TRY_IN if case.stage == Stage.TRY_IN else rules.DELIVERY
    if case.stage == Stage.RECALL:
        due = next_follow_up(case)
        return due.name if due else ""
    if case.stage not in _MADE_FROM:
        return ""
    prescription = signed_prescription(case)
    wanted = prescription is None or prescription.try_in_wanted
    passed = case.handoffs.filter(move="pass_try_in", state="made").exists()
    return rules.TRY_IN if wanted and not passed else rules.DELIVERY


def expected_arrival(case):
    """The day the parts should be at the practice: the parcel's, else what was promised."""
    parcel = parcel_under_way(case, Side.PRACTICE)
    return parcel.expected_on if parcel and parcel.expected_on else case.promised_on


_HERE = (bench.AT_PRACTICE, bench.TRIED, bench.DELIVERED)
_NEEDED = {
    rules.TRY_IN: bench.TRIED_IN,
    rules.DELIVERY: bench.STAYS - {bench.FINAL_SCREW},
}


@dataclass(frozen=True)
class FrontDesk:
    """What the front desk sees of a case."""

    kind: str = ""
    visit: Appointment | None = None
    parts_expected_on: date | None = None
    parts_here: bool = False
    not_ready_because: tuple[str, ...] = ()
    prepared: rules.Preparation | None = field(default=None, repr=False)

    @property
    def said_as(self):
        return rules.said_as(self.kind)

    @property
    def is_ready(self):
        return bool(self.kind) and not self.not_ready_because


def front_desk_of(case):
    """Who can come for what, when, and why not yet."""
    visit = booked_visit(case)
    kind = kind_due(case) or (visit.kind if visit else "")
    if not kind:
        return FrontDesk()
    if visit is None or visit.kind != kind:
        visit = booked_visit(case, kind)
    prepared = _prepared(case, kind, visit)
    return FrontDesk(
        kind=kind,
        visit=visit,
        parts_expected_on=None if prepared.parts_here else prepared.expected_on,
        parts_here=prepared.parts_here,
        not_ready_because=rules.readiness(prepared),
        prepared=prepared,
    )


def readiness(case):
    """Why the patient cannot come yet, in sentences; empty means ready (or nothing is due)."""
    return front_desk_of(case).not_ready_because


def _prepared(case, kind, visit):
    parts = list(current_parts(case)) if rules.needs_parts(kind) else []
    asked = _NEEDED.get(kind, ())
    screws = {
        part.sites[0]
        for part in parts
        if part.kind == bench.FINAL_SCREW
        and part.is_sealed
        and part.place in _HERE
        and part.sites
    }
    return rules.Preparation(
        kind=kind,
        visit_on=local_day(visit, case.order.practice) if visit else None,
        minutes=visit.minutes if visit else None,
        tools_ready=bool(visit and visit.tools_ready),
        parts_planned=bool(parts),
        missing=tuple(
            rules.Missing(part.kind, tuple(part.sites), part.place)
            for part in parts
            if part.kind in asked and part.place not in _HERE
        ),
        screwless_sites=tuple(site for site in sites_of(case) if site not in screws)
        if parts
        else (),
        expected_on=expected_arrival(case),
    )


def visits_before_arrival(case):
    """A sentence for every booked visit that lies before the parts can be there (to warn of
    when either day moves)."""
    found = []
    for visit in case.appointments.filter(state=rules.BOOKED).order_by("at"):
        prepared = _prepared(case, visit.kind, visit)
        early = rules.before_parts(
            visit.kind, prepared.visit_on, prepared.parts_here, prepared.expected_on
        )
        if early:
            found.append(early)
    return tuple(found)
