"""What is a check? One file per statement that must be true at a handoff.

A check is pure: it is handed plain facts and a reader of limits, and yields what it found.
Nothing yielded means the statement holds. What cannot be known is yielded too, as NOT_KNOWN or
a code of its own, and never counts as holding.
"""

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
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
    subject: str = ""  # a site, a file ("file 3"), a joint, a part
    values: dict = field(default_factory=dict)
    measured: str = ""  # value with unit
    limit: str = ""  # limit with unit
    source: str = ""  # where the limit comes from


def stop(code, subject="", **values):
    """The move cannot go on with this."""
    return Found(Weight.STOP, code, subject, values)


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
    from a limit's name to a `casework.limits.Limit`. `sentences` has for each code what is
    wrong and what to do, with placeholders of the found values and {subject}.
    """

    title: str
    reads: tuple[str, ...]
    run: Callable[[dict, Callable], Iterable[Found]]
    sentences: dict[str, tuple[str, str]]
    version: int = 1


def load(name):
    """The check in `casework/checks/<name>.py`."""
    return import_module(f"casework.checks.{name}").CHECK


def all_names():
    """The names of all checks there are."""
    return sorted(module.name for module in iter_modules(__path__))
