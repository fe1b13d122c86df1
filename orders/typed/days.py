"""Which day did a person type, or why can it not be told?"""

import re
from datetime import date

from orders.typed.text import TypedUnreadable, clean_identifier

# In words, to be shown beside every field in which a day is typed.
ORDERS = {
    "iso": "year-month-day, for example 2026-04-13",
    "dmy": "day/month/year, for example 13/04/2026",
    "mdy": "month/day/year, for example 04/13/2026",
}
_ORDER_WORDS = {"iso": "year-month-day", "dmy": "day/month/year", "mdy": "month/day/year"}
MONTHS = (
    "January February March April May June July August September October November December"
).split()
# Nobody treated or treating was born before.
_EARLIEST = date(1900, 1, 1)
_YEAR_FIRST = re.compile(r"(\d{4})([-./])(\d{1,2})\2(\d{1,2})", re.ASCII)
_YEAR_LAST = re.compile(r"(\d{1,2})([-./ ])(\d{1,2})\2(\d{4}|\d{2})", re.ASCII)


def read_day(
    text: str | None,
    *,
    field: str,
    order: str = "iso",
    earliest: date | None = None,
    latest: date | None = None,
    today: date | None = None,
) -> date:
    """The day typed into `field`; year-month-day always, the site's own `order` too.

    With `today`, a day in the future is refused.
    """
    typed = re.sub(r"[\u2010-\u2015\u2212]", "-", clean_identifier(text))
    if not typed:
        raise TypedUnreadable(f"Type a day as {ORDERS[order]}.", field)
    try:
        day = _read(typed, order)
    except ValueError as refused:
        raise TypedUnreadable(str(refused), field) from None
    _check(day, field, earliest or _EARLIEST, latest, today)
    return day


def _read(typed, order):
    shown = typed if len(typed) <= 20 else f"{typed[:20]} ..."
    if found := _YEAR_FIRST.fullmatch(typed):
        return _day(shown, found[1], found[3], found[4])
    found = _YEAR_LAST.fullmatch(typed)
    if not found:
        raise ValueError(f"'{shown}' is no day. Type it as {ORDERS[order]}.")
    first, second, year = found[1], found[3], found[4]
    if len(year) == 2:
        raise ValueError(
            f"'{shown}' has a year of two digits. Type all four, as {ORDERS[order]}."
        )
    if order == "iso":
        raise ValueError(_both_readings(shown, first, second, year))
    month, day = (second, first) if order == "dmy" else (first, second)
    return _day(shown, year, month, day, order)


def _day(shown, year, month, day, order="iso"):
    read_as = f" Days are typed here as {ORDERS[order]}."
    if not 1 <= int(month) <= 12:
        raise ValueError(f"'{shown}': there is no month {int(month)}.{read_as}")
    try:
        return date(int(year), int(month), int(day))
    except ValueError:
        raise ValueError(
            f"'{shown}': there is no {int(day)} {MONTHS[int(month) - 1]} {year}.{read_as}"
        ) from None


def _both_readings(shown, first, second, year):
    """A sentence with every day the text can mean, spelled out."""
    days = []
    for month, day in ((second, first), (first, second)):
        try:
            days.append(_day(shown, year, month, day))
        except ValueError:
            continue
    said = [f"{day.isoformat()} ({say_day(day)})" for day in dict.fromkeys(days)]
    if not said:
        return f"'{shown}' is no day. Type it as {ORDERS['iso']}."
    if len(said) == 1:
        return f"'{shown}': type the date as {_ORDER_WORDS['iso']}: {said[0]}."
    return (
        f"'{shown}' can be read as two dates. Type {said[0]} or {said[1]}, in the format "
        f"{_ORDER_WORDS['iso']}."
    )


def say_day(day: date) -> str:
    """The day with its month in words: "3 April 2026"."""
    return f"{day.day} {MONTHS[day.month - 1]} {day.year}"


def _check(day, field, earliest, latest, today):
    if day < earliest:
        raise TypedUnreadable(
            f"{say_day(day)} is before {say_day(earliest)}, the first day possible here. "
            "Check the year.",
            field,
        )
    if today and day > today:
        raise TypedUnreadable(
            f"{say_day(day)} lies in the future (today is {say_day(today)}). Check the year.",
            field,
        )
    if latest and day > latest:
        raise TypedUnreadable(
            f"{say_day(day)} is after {say_day(latest)}, the last day possible here. "
            "Check the day and the year.",
            field,
        )
