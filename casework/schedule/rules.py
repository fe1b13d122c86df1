"""On which days does a party work, may this day be promised, and can the patient come?"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from functools import lru_cache

import holidays

from casework.fabrication.rules import name_of
from orders.teeth import in_arch_order

TRY_IN, DELIVERY = "try-in", "delivery"
BOOKED, DONE, MISSED, CANCELLED = "booked", "done", "missed", "cancelled"
ENDS = (DONE, MISSED, CANCELLED)
# Shortest appointment that leaves time for what the visit asks; a delivery holds the ten
# minutes until the screws are tightened again (common practice, no source).
MINUTES_NEEDED = {TRY_IN: 45, DELIVERY: 60}
MINUTES_OTHERWISE = 20
MINUTES_MOST = 8 * 60
_DAYS_LOOKED_THROUGH = 3700


def minutes_needed(kind: str) -> int:
    """The shortest appointment for a kind of visit."""
    return MINUTES_NEEDED.get(kind, MINUTES_OTHERWISE)


@lru_cache(maxsize=512)
def public_holidays(country: str, region: str, year: int) -> dict[date, str] | None:
    """Public holidays of a year by name; None where the country is not known.

    Source: the `holidays` library. Where the region is not known, those of the whole country.
    """
    try:
        known = holidays.country_holidays(country, subdiv=region or None, years=year)
    except NotImplementedError:
        return public_holidays(country, "", year) if region else None
    return dict(known)


@lru_cache(maxsize=64)
def weekend_of(country: str) -> frozenset[int]:
    """Days of the week off work, Monday is 0; Saturday and Sunday where nothing is known."""
    try:
        return frozenset(holidays.country_holidays(country).weekend)
    except NotImplementedError:
        return frozenset({5, 6})


@dataclass(frozen=True)
class Calendar:
    """When a party works: not at weekends, on public holidays and on its own closing days."""

    party: str = ""
    country: str = ""
    region: str = ""
    closing_days: Mapping[date, str] = field(default_factory=dict)

    @property
    def knows_holidays(self) -> bool:
        return public_holidays(self.country, self.region, 2000) is not None

    def why_closed(self, day: date) -> str:
        """What keeps the party from working on a day, or ""."""
        if day in self.closing_days:
            return self.closing_days[day] or "closing day"
        if name := (public_holidays(self.country, self.region, day.year) or {}).get(day):
            return name
        return "weekend" if day.weekday() in weekend_of(self.country) else ""

    def is_working_day(self, day: date) -> bool:
        return not self.why_closed(day)

    def add_working_days(self, day: date, count: int) -> date:
        """The working day that lies so many after `day`; `day` itself is not counted.

        Backwards for a negative count; for none, `day` or the next working day.
        """
        if count == 0:
            return day if self.is_working_day(day) else self.add_working_days(day, 1)
        step = timedelta(days=1 if count > 0 else -1)
        left = abs(count)
        for _looked in range(_DAYS_LOOKED_THROUGH):
            day += step
            if self.is_working_day(day):
                left -= 1
                if left == 0:
                    return day
        raise ValueError(f"no such working day within {_DAYS_LOOKED_THROUGH} days")


def objections_to_promise(
    promised_on: date | None, *, today: date, calendar: Calendar
) -> tuple[str, ...]:
    """Why a laboratory cannot promise its work for a day."""
    if promised_on is None:
        return ("Name the day you promise the work for.",)
    if promised_on < today:
        return (f"{promised_on.isoformat()} cannot be promised: that day is over.",)
    if why := calendar.why_closed(promised_on):
        try:
            following = calendar.add_working_days(promised_on, 1).isoformat()
            before = calendar.add_working_days(promised_on, -1).isoformat()
        except ValueError:
            following = before = "another day"
        return (
            f"{calendar.party or 'Your house'} does not work on {promised_on.isoformat()}"
            f" ({why}). Promise {before} or {following}.",
        )
    return ()


def needs_parts(kind: str) -> bool:
    """Does the patient come for nothing where the parts are not there?"""
    return kind in (TRY_IN, DELIVERY)


def before_parts(kind: str, visit_on: date, parts_here: bool, expected_on: date | None) -> str:
    """Why the parts cannot be there at the visit, in a sentence; "" where they can."""
    if parts_here or not needs_parts(kind):
        return ""
    if expected_on is None:
        return f"Nobody has said yet when the parts for the {kind} arrive."
    if visit_on < expected_on:
        return (
            f"The {kind} on {visit_on.isoformat()} is before the arrival of the parts on"
            f" {expected_on.isoformat()}."
        )
    return ""


def objections_to_visit(
    *,
    kind: str,
    kinds: Iterable[str],
    starts_at: datetime,
    visit_on: date,
    minutes: int | None,
    now: datetime,
    reason: str,
    parts_here: bool,
    expected_on: date | None,
    calendar: Calendar,
    booked_at: str,
) -> tuple[str, ...]:
    """Why a visit cannot be booked so; `booked_at`: when one of the kind is booked already."""
    kinds = tuple(kinds)
    found = []
    if kind not in kinds:
        found.append(f"'{kind}' is no visit of this case. Choose one of: {', '.join(kinds)}.")
    if booked_at:
        found.append(f"A {kind} visit is booked already for {booked_at}. Move that one.")
    if starts_at < now:
        found.append(f"The visit on {visit_on.isoformat()} would lie in the past.")
    if not minutes or not 5 <= minutes <= MINUTES_MOST:
        found.append(f"Say how long the visit takes, in minutes (5 to {MINUTES_MOST}).")
    if found or reason.strip():
        return tuple(found)
    if why := calendar.why_closed(visit_on):
        found.append(
            f"The practice is closed on {visit_on.isoformat()} ({why}). Choose another day, or"
            " give the reason for this one."
        )
    if early := before_parts(kind, visit_on, parts_here, expected_on):
        found.append(f"{early} Choose a later day, or give the reason for booking it now.")
    return tuple(found)


@dataclass(frozen=True, slots=True)
class Missing:
    """A part that is not counted at the practice, and where it is."""

    kind: str
    sites: tuple[str, ...]
    place: str


@dataclass(frozen=True, slots=True)
class Preparation:
    """What the front desk asks before the patient comes, as plain values."""

    kind: str
    visit_on: date | None = None
    minutes: int | None = None
    tools_ready: bool = False
    parts_planned: bool = False
    missing: tuple[Missing, ...] = ()
    screwless_sites: tuple[str, ...] = ()
    expected_on: date | None = None

    @property
    def parts_here(self) -> bool:
        return self.parts_planned and not self.missing


def readiness(prepared: Preparation) -> tuple[str, ...]:
    """Why the patient cannot come yet; empty means ready.

    Ready means: parts counted here, driver and torque wrench in the house, final screws here,
    appointment long enough. A follow-up visit needs only the appointment.
    """
    return tuple(_not_ready(prepared))


def said_as(kind: str) -> str:
    """A kind of visit within a sentence: "try-in", "visit after 6 months"."""
    return kind if needs_parts(kind) else f"visit after {kind}"


def _not_ready(prepared):
    if needs_parts(prepared.kind):
        yield from _parts_not_ready(prepared)
    if prepared.visit_on is None:
        yield f"No appointment is booked for the {said_as(prepared.kind)}."
        return
    if early := before_parts(
        prepared.kind, prepared.visit_on, prepared.parts_here, prepared.expected_on
    ):
        yield early
    if prepared.minutes < minutes_needed(prepared.kind):
        yield (
            f"The appointment is {prepared.minutes} minutes long; a {said_as(prepared.kind)}"
            f" takes at least {minutes_needed(prepared.kind)}."
        )
    if needs_parts(prepared.kind) and not prepared.tools_ready:
        yield "Nobody has confirmed that driver and torque wrench are in the house."


def _parts_not_ready(prepared):
    if not prepared.parts_planned:
        yield "The parts are not made yet."
        return
    places = {}
    for part in prepared.missing:
        places.setdefault(part.place, []).append(name_of(part.kind, part.sites))
    for place, names in places.items():
        when = ""
        if place == "on the way" and prepared.expected_on:
            when = f", expected {prepared.expected_on.isoformat()}"
        yield f"Not counted here: {', '.join(names)} ({place}{when})."
    if prepared.screwless_sites:
        sites = ", ".join(in_arch_order(prepared.screwless_sites))
        yield f"No sealed final screw is here for ISO {sites}."
