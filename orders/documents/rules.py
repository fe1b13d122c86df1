"""How are papers numbered and called, and how are their figures and days written?"""

import re
from datetime import date, datetime
from decimal import Decimal, InvalidOperation
from zoneinfo import ZoneInfo

_MONTHS = "Jan Feb Mar Apr May Jun Jul Aug Sep Oct Nov Dec".split()
_NUMBER = re.compile(r"([A-Z]{2})-(\d{4})-(\d{5,})")

# Shown where a print could not be made; {problem} is what the library said.
NO_PANGO = (
    "The print could not be made, because this machine lacks the library that draws pages"
    " (Pango) or a part of it. Use the print view, and tell whoever runs this service to"
    " install it; then press make the print again."
)
FAILED = "The print could not be made: {problem}. It is tried again by itself a few times."


def paper_number(series: str, year: int, count: int) -> str:
    """ "OS-2026-00012": series, year of issue, count within both."""
    return f"{series}-{year:04}-{count:05}"


def count_of(number: str) -> int:
    """The count at the end of a paper's number."""
    match = _NUMBER.fullmatch(number)
    if match is None:
        raise ValueError(f"{number!r} is no number of a paper.")
    return int(match[3])


def file_name(number: str) -> str:
    """The name under which a print is saved: only what a number can hold."""
    count_of(number)
    return f"{number}.pdf"


def local_year(at: datetime, zone: str) -> int:
    """The year it is in a time zone at a moment."""
    return at.astimezone(ZoneInfo(zone or "UTC")).year


def millimetres(amount: object) -> str:
    """ "4.1" is "4.10 mm", with a blank that does not break; nothing stays nothing."""
    return _with_unit(amount, "0.01", "mm")


def newton_centimetres(amount: object) -> str:
    """ "35" is "35.0 N·cm"; nothing stays nothing."""
    return _with_unit(amount, "0.1", "N·cm")


def _with_unit(amount, step, unit):
    if amount in (None, ""):
        return ""
    try:
        value = Decimal(str(amount)).quantize(Decimal(step))
    except InvalidOperation:
        return f"{amount}\u00a0{unit}"
    return f"{value}\u00a0{unit}"


def day_in_words(day: str) -> str:
    """ "2026-03-04" is "4 Mar 2026", which nobody reads as 3 April."""
    if not day:
        return ""
    read = date.fromisoformat(day)
    return f"{read.day} {_MONTHS[read.month - 1]} {read.year}"


def moment_in_words(at: str, zone: str) -> str:
    """A moment in a time zone, with the zone's name."""
    if not at:
        return ""
    local = datetime.fromisoformat(at).astimezone(ZoneInfo(zone or "UTC"))
    return f"{day_in_words(local.date().isoformat())}, {local:%H:%M} ({zone or 'UTC'})"
