"""What is a check? One file per statement that must be true at a handoff.

A check is pure: it is handed plain facts and a reader of limits, and yields what it found.
Nothing yielded means the statement holds. What cannot be known is yielded too, as NOT_KNOWN or
a code of its own, and never counts as holding.
"""

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from decimal import Decimal
from enum import StrEnum
from importlib import import_module
from pkgutil import iter_modules


class Weight(StrEnum):
    STOP = "stop"
    ASK = "ask"
    NOTE = "note"


@dataclass(frozen=True, slots=True)
class Found:
    """One thing found. `code` picks the check's sentence, `values` fill it."""

    weight: Weight
    code: str
    subject: str = ""  # a site in ISO 3950, a file ("file 3"), a joint, a part
    values: dict = field(default_factory=dict)
    measured: str = ""  # value with unit
    limit: str = ""  # limit with unit
    source: str = ""  # where the limit comes from


def stop(code, subject="", *, measured="", limit="", source="", **values):
    """The move cannot go on with this."""
    return Found(Weight.STOP, code, subject, values, measured, limit, source)


def ask(code, subject="", *, measured="", limit="", source="", **values):
    """The responsible person must give a reason, which is signed with the handoff."""
    return Found(Weight.ASK, code, subject, values, measured, limit, source)


def note(code, subject="", *, measured="", limit="", source="", **values):
    """Worth reading."""
    return Found(Weight.NOTE, code, subject, values, measured, limit, source)


@dataclass(frozen=True, slots=True)
class Check:
    """The statement that must be true, the facts it reads, and how it is judged.

    `run(facts, limits)` is given a dictionary of the facts named in `reads` and a function
    from a limit's name to a `casework.limits.Limit`; it may ask for those named in `limits`.
    `sentences` has for each code what is wrong and what to do, with placeholders of the found
    values and {subject}.
    """

    title: str
    reads: tuple[str, ...]
    run: Callable[[dict, Callable], Iterable[Found]]
    sentences: dict[str, tuple[str, str]]
    limits: tuple[str, ...] = ()
    version: int = 1


def load(name):
    """The check in `casework/checks/<name>.py`."""
    return import_module(f"casework.checks.{name}").CHECK


def all_names():
    """The names of all checks there are."""
    return sorted(module.name for module in iter_modules(__path__))


def figure(value: Decimal | int | str, unit: str) -> str:
    """A value as people read it: millimetres with two decimals, others without idle zeros."""
    value = Decimal(value)
    if unit == "mm":
        return f"{value:.2f} {unit}"
    text = f"{value:f}"
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return f"{text} {unit}"


def against(value, limit, bound=None) -> dict:
    """The marks of a finding: what was measured, its limit, and where that comes from."""
    bound = limit.value if bound is None else bound
    return {
        "measured": figure(value, limit.unit),
        "limit": figure(bound, limit.unit),
        "source": limit.source,
    }


def against_range(value, limit) -> dict:
    """The same for a limit that is a range."""
    low, high = (figure(bound, limit.unit) for bound in (limit.low, limit.high))
    return {
        "measured": figure(value, limit.unit),
        "limit": f"{low} to {high}",
        "source": limit.source,
    }


def is_outside(value, limit) -> bool:
    """Does a value lie outside the range of a limit?"""
    return not limit.low <= Decimal(value) <= limit.high


def part_words(part) -> str:
    """A part as sentences name it: "bridge (ISO 45, 46, 47)"."""
    sites = ", ".join(part["sites"])
    return f"{part['kind']} (ISO {sites})" if sites else part["kind"]


def file_words(number) -> str:
    """A file as sentences name it."""
    return f"file {number}"


def from_objection(objection) -> Found:
    """What a rule says against a record, as a finding."""
    marks = ("measured", "limit", "source")
    return Found(
        Weight(objection.weight),
        objection.code,
        objection.subject,
        {key: value for key, value in objection.values.items() if key != "subject"},
        *(getattr(objection, name) for name in marks),
    )
