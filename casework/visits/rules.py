"""When are follow-up visits due, and does what was recorded at a visit hold together?"""

import calendar
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from decimal import Decimal
from zoneinfo import ZoneInfo

ANSWERS = ("yes", "no", "not applicable")
OUTCOMES = ("fine", "adjusted", "complication")
COMPLICATION = "complication"

# What is asked at a try-in and at a follow-up, as the page says it.
TRY_IN_QUESTIONS = {
    "seated": "Everything seats fully",
    "one_screw_test": "Splinted work stays seated with one screw tightened",
    "screw_and_driver_clear": "Screw and driver pass clear",
    "blanching_fades": "Blanching of the gum fades within minutes",
    "contacts": "Contacts to the neighbours are right",
    "bite": "The bite is right (paper, foil)",
    "excursions": "Excursions are free",
    "look": "The look is right (width to length, midline, smile line)",
    "patient_agrees": "The patient agrees",
}
FOLLOW_UP_QUESTIONS = {
    "bite": "The bite is right",
    "screws_tight": "Screws are tight",
    "chipping": "Something has chipped",
}

# Screws settle and lose 2-10 % of their preload; tightened again after ten minutes (J Oral
# Implantol 2002;28(2):67; a later test found two minutes best, J Oral Implantol 2020;46(1):13).
SECOND_AFTER = timedelta(minutes=10)
# No part's own value was seen outside; an entry outside is most likely mistyped (common
# practice, no source).
TORQUE_POSSIBLE_NCM = (Decimal(5), Decimal(50))

HOURS, DAYS, WEEKS, MONTHS = "hours", "days", "weeks", "months"
UNITS = (HOURS, DAYS, WEEKS, MONTHS)
# 48 hours and one week: common practice; 6 and 12 months, then yearly: Vanlioglu, Oezkan and
# Kulak-Oezkan 2013 (one series of patients).
TEMPLATE = ((48, HOURS), (1, WEEKS), (6, MONTHS), (12, MONTHS))
FIRST_YEAR_MONTHS = 12
_MOST = {HOURS: 24 * 31, DAYS: 366, WEEKS: 52, MONTHS: 12}


@dataclass(frozen=True, slots=True)
class Due:
    """One follow-up visit and its day."""

    name: str
    on: date


def add_months(day: date, months: int) -> date:
    """The same day so many months later; the last of that month where it has no such day.

    Always counted from the first date: 31 January plus one, two, three months is the last of
    February, 31 March, 30 April.
    """
    place = day.year * 12 + day.month - 1 + months
    year, month = place // 12, place % 12 + 1
    return date(year, month, min(day.day, calendar.monthrange(year, month)[1]))


def add_step(day: date, amount: int, unit: str) -> date:
    """The day that lies one step of a template after `day`."""
    if unit == MONTHS:
        return add_months(day, amount)
    if unit == WEEKS:
        return day + timedelta(weeks=amount)
    if unit == DAYS:
        return day + timedelta(days=amount)
    if unit == HOURS:
        return day + timedelta(days=-(-amount // 24))
    raise ValueError(f"a step is counted in {', '.join(UNITS)}, not in {unit!r}")


def name_of(amount: int, unit: str) -> str:
    """What a visit is called: "48 hours", "1 week"."""
    return f"{amount} {unit[:-1] if amount == 1 else unit}"


def follow_up_plan(
    delivered_on: date, template: Iterable[tuple[int, str]] = TEMPLATE
) -> tuple[Due, ...]:
    """The visits of an open case after delivery, first one first."""
    due = [
        Due(name_of(amount, unit), add_step(delivered_on, amount, unit))
        for amount, unit in template
    ]
    return tuple(sorted(due, key=lambda visit: visit.on))


def yearly_visits(delivered_on: date, count: int) -> tuple[Due, ...]:
    """The yearly visits after the first year: the restoration's, not the open case's."""
    return tuple(
        Due(f"{years} years", add_months(delivered_on, 12 * years))
        for years in range(2, 2 + count)
    )


class NoSuchTime(ValueError):
    """The clocks skip the time, or show it twice, on that day; the sentence says so."""


def moment_at(day: date, hour: int, minute: int, zone: str) -> datetime:
    """The moment at which the clocks of a zone show this time; refuses one they skip."""
    local = datetime(day.year, day.month, day.day, hour, minute, tzinfo=ZoneInfo(zone))
    back = local.astimezone(ZoneInfo("UTC")).astimezone(ZoneInfo(zone))
    if (back.hour, back.minute) != (hour, minute):
        raise NoSuchTime(
            f"On {day.isoformat()} the clocks skip {hour:02}:{minute:02}. Choose another time."
        )
    return local


def objections_to_template(steps: Iterable[tuple[int, str]]) -> tuple[str, ...]:
    """Why a practice cannot keep such a template."""
    steps = list(steps)
    found = []
    for amount, unit in steps:
        if unit not in UNITS:
            found.append(f"A step is counted in {', '.join(UNITS)}, not in '{unit}'.")
        elif not 1 <= amount <= _MOST[unit]:
            found.append(
                f"'{amount} {unit}' is no step within the first year; type 1 to {_MOST[unit]}"
                f" {unit}."
            )
    if len(set(steps)) < len(steps):
        found.append("The same step stands there twice.")
    if (FIRST_YEAR_MONTHS, MONTHS) not in steps:
        found.append("Keep the visit at 12 months: a case is closed after it.")
    return tuple(dict.fromkeys(found))


def objections_to_answers(answers: Mapping[str, str], questions: Mapping[str, str]):
    """Why answers to the questions of a visit cannot be kept."""
    for name, answer in answers.items():
        if name not in questions:
            yield f"'{name}' is not asked at this visit."
        elif answer and answer not in ANSWERS:
            yield f"{questions[name]}: answer {', '.join(ANSWERS[:-1])} or {ANSWERS[-1]}."


def objections_to_try_in(
    *, on: date | None, today: date, answers: Mapping[str, str], said: str
) -> tuple[str, ...]:
    """Why a try-in cannot be recorded so; `said` is what was adjusted or noted."""
    found = [
        *_against_day("try-in", on, today),
        *objections_to_answers(answers, TRY_IN_QUESTIONS),
    ]
    not_right = [TRY_IN_QUESTIONS[name] for name, answer in answers.items() if answer == "no"]
    if not found and not_right and not said.strip():
        found.append(
            f"Say under adjustments or in the note what was found: '{not_right[0]}' is answered"
            " no."
        )
    return tuple(found)


def _against_day(what, on, today):
    if on is None:
        yield f"Name the day of the {what}."
    elif on > today:
        yield f"The {what} cannot have been on {on.isoformat()}: that day is to come."


def objections_to_screw(
    *,
    site: str,
    sites: Iterable[str],
    component_kind: str,
    torque_ncm: Decimal | None,
    tightened_at: datetime | None,
    second_torque_ncm: Decimal | None,
    second_at: datetime | None,
    now: datetime,
) -> tuple[str, ...]:
    """Why a screw cannot be recorded so."""
    return (
        *_against_screw(site, tuple(sites), component_kind),
        *_against_torque("first", torque_ncm, tightened_at, now),
        *_against_torque("second", second_torque_ncm, second_at, now),
        *_against_order(tightened_at, second_at),
    )


def _against_screw(site, sites, component_kind):
    if site not in sites:
        yield f"There is no implant of this case at ISO {site}. Check the site."
    if component_kind != "retaining screw":
        yield f"The part named is a {component_kind}, not the retaining screw left in."


def _against_torque(which, torque_ncm, at, now):
    if (torque_ncm is None) != (at is None):
        yield f"Give both the torque and the time of the {which} tightening, or neither."
    if torque_ncm is not None and not 0 < torque_ncm < 100:
        yield f"A torque of {torque_ncm} N·cm cannot be. Check the entry and its decimal point."
    if at is not None and at > now:
        yield f"The {which} tightening lies in the future. Check its day and time."


def _against_order(tightened_at, second_at):
    if second_at is None:
        return
    if tightened_at is None:
        yield "A screw is tightened once before it is tightened again. Record the first time."
    elif second_at <= tightened_at:
        yield "The second tightening must come after the first one. Check the times."


def doubts_about_screw(
    *,
    torque_told_ncm: Decimal | None,
    torque_ncm: Decimal | None,
    tightened_at: datetime | None,
    second_torque_ncm: Decimal | None,
    second_at: datetime | None,
    lot: str,
    lots_sent: Iterable[str],
) -> tuple[str, ...]:
    """What is worth a second look before the patient leaves; it does not stop the entry."""
    return tuple(
        _doubts(
            torque_told_ncm,
            [t for t in (torque_ncm, second_torque_ncm) if t is not None],
            tightened_at,
            second_at,
            lot,
            [sent for sent in lots_sent if sent],
        )
    )


def _doubts(told, torques, tightened_at, second_at, lot, lots_sent):
    for torque in torques:
        if told is None:
            yield "This screw's own torque is not in the catalogue. Read its instructions."
        elif torque != told:
            yield f"Tightened to {torque} N·cm; this screw's own value is {told} N·cm."
        low, high = TORQUE_POSSIBLE_NCM
        if not low <= torque <= high:
            yield f"{torque} N·cm is outside {low} to {high} N·cm. Is the entry right?"
    if tightened_at and second_at is None:
        yield "Tighten again to the same torque after about ten minutes, and record it."
    if tightened_at and second_at and timedelta() < second_at - tightened_at < SECOND_AFTER:
        minutes = int((second_at - tightened_at).total_seconds() // 60)
        yield f"Only {minutes} minutes lie between the two tightenings; about ten are usual."
    if lots_sent and lot not in lots_sent:
        yield f"Lot {lot} is not the one that was sent ({', '.join(lots_sent)})."


def objections_to_delivery(
    *,
    on: date | None,
    today: date,
    has_baseline: bool,
    baseline_reason: str,
    cement: str,
    excess_checked: bool | None,
    excess_checked_how: str,
) -> tuple[str, ...]:
    """Why a delivery cannot be recorded so; what is missing is judged when the case moves."""
    found = list(_against_day("delivery", on, today))
    if has_baseline and baseline_reason.strip():
        found.append("The baseline is a radiograph; leave the reason for having none empty.")
    if excess_checked and not cement.strip():
        found.append("Excess was checked but no cement is named. Name it, or say not cemented.")
    if excess_checked and not excess_checked_how.strip():
        found.append("Say how excess cement was looked for.")
    return tuple(found)


def objections_to_follow_up(
    *,
    done_on: date | None,
    today: date,
    delivered_on: date | None,
    outcome: str,
    answers: Mapping[str, str],
    note: str,
) -> tuple[str, ...]:
    """Why a follow-up visit cannot be recorded so."""
    found = [
        *_against_day("visit", done_on, today),
        *objections_to_answers(answers, FOLLOW_UP_QUESTIONS),
    ]
    if done_on and delivered_on and done_on < delivered_on:
        found.append(
            f"The visit cannot have been on {done_on.isoformat()}, before the delivery on"
            f" {delivered_on.isoformat()}."
        )
    if outcome not in OUTCOMES:
        found.append(f"Say what came of the visit: {' or '.join(OUTCOMES)}.")
    elif outcome != OUTCOMES[0] and not note.strip():
        found.append(f"The outcome is '{outcome}': say in the note what was found and done.")
    return tuple(found)
