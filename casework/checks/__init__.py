"""What is a check? One file per statement that must be true at a handoff.

A check is pure: it is handed plain facts and a reader of limits, and yields what it found.
Nothing yielded means the statement holds. What cannot be known is yielded too, as NOT_KNOWN or
a code of its own, and never counts as holding.
"""

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field, replace
from decimal import Decimal
from enum import StrEnum
from importlib import import_module
from pkgutil import iter_modules

from casework.measure.results import AT_LEAST, AT_MOST, with_bound


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
    if unit == "share":
        return figure(100 * value, "%")
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
        "measured": measured_figure(value, limit.unit),
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


# Measured values: rows of the fact `measured`, see `casework/measure/sets/facts.py`.

# What every check of measured values may say.
OF_VALUES = {
    "within_doubt": (
        "The {what} of {subject} is nearer to its limit than its doubt of {doubt}: whether the"
        " limit is kept is not known.",
        "Look at the place, or say why it is enough.",
    ),
    "bound_only": (
        "Of the {what} of {subject} only a bound is known: whether the limit is kept is not"
        " known.",
        "Look at the place, or say why it is enough.",
    ),
    "value_not_known": (
        "The {what} of {subject} is not known: {because}",
        "Complete what it needs, or say how it was looked at instead.",
    ),
}
# What a check may say of the steps of measuring.
OF_STEPS = {
    "waiting": (
        "Still being measured: {steps}.",
        "Wait a moment and check again.",
    ),
    "not_measured": (
        "Not known, because {steps} could not be measured: {because}",
        "Put right what is named, or say how it was looked at instead.",
    ),
    "not_told": (
        "Not measured ({steps}): {because}",
        "Complete what is missing, or say how it was looked at instead.",
    ),
}
_FACTORS = {
    ("mm", "µm"): Decimal(1000),
    ("µm", "mm"): Decimal("0.001"),
}
# Of measured values as they are shown; limits stand as they are.
_PLACES = {"mm": 2, "µm": 0, "°": 1, "mm²": 1, "share": 2}
MOST_PLACES = 4


def of(measured, *quantities) -> list[dict]:
    """The rows of some quantities whose value is known, in the order of measuring."""
    return [
        row
        for row in measured["results"]
        if row["quantity"] in quantities and row["value"] is not None
    ]


def not_known(measured, say=ask, /, **whats) -> Iterable[Found]:
    """Say of each value that could not be had why; `whats` has for a quantity its words.

    A step of which nothing at all could be measured is said by a check of its own.
    """
    steps = [step for step in measured["steps"] if not step["is_measured"]]
    for row in measured["results"]:
        if row["quantity"] in whats and row["value"] is None:
            because = row["because"]
            if not any(
                step["step"] == row["step"] and because in step["because"] for step in steps
            ):
                what = whats[row["quantity"]]
                yield say("value_not_known", row["subject"], what=what, because=because)


def lone_areas(measured, quantity, code) -> Iterable[Found]:
    """Note the area that only one of two surfaces has, and how far its largest part spans."""
    for row in of(measured, quantity):
        if row["value"]:
            across = measured_figure(row["details"]["largest_span_mm"], "mm")
            area = measured_figure(row["value"], "mm²")
            words = {"quantity": quantity, "of": row["subject"], "across": across}
            yield note(code, row["subject"], measured=area, **words)


def size_of(row) -> dict:
    """The row of a signed difference without its sign."""
    return row | {"value": abs(row["value"])}


def steps_made(measured, is_mine, needed) -> Iterable[Found]:
    """Say which steps still wait, could not be made, or have nothing to go by.

    `is_mine` tells by a step's name whether it is spoken of; a step that nothing is told for
    asks where its name is in `needed`, and is noted elsewhere.
    """
    mine = {
        name: [row for row in measured[name] if is_mine(row["step"])]
        for name in ("waiting", "steps", "not_told")
    }
    if mine["waiting"]:
        steps = dict.fromkeys(row["step"] for row in mine["waiting"])
        yield stop("waiting", steps=_steps_words(steps))
    failed = [row for row in mine["steps"] if not row["is_measured"]]
    for because, steps in _by_reason(failed).items():
        yield ask("not_measured", steps=_steps_words(steps), because=because)
    for because, steps in _by_reason(mine["not_told"]).items():
        say = ask if needed & set(steps) else note
        yield say("not_told", steps=_steps_words(steps), because=because)


def _by_reason(rows):
    """Names of steps, in order, by the reason that they share."""
    reasons = {}
    for row in rows:
        reasons.setdefault(row["because"], {})[row["step"]] = True
    return reasons


def _steps_words(steps):
    return ", ".join(step.replace("_", " ") for step in steps)


def in_unit(value, unit: str, wanted: str) -> Decimal:
    """A measured value or its doubt in the unit of a limit."""
    return Decimal(value) * _FACTORS.get((unit, wanted), Decimal(1))


def at_most(row, limit, code, *, bound=None, scan_doubt=0, say=ask, **values):
    """Say that a value exceeds its limit, or that its doubt leaves that open.

    `scan_doubt`, in the unit of the limit, is how far the scan may be from the mouth; it adds
    to the doubt of the value itself.
    """
    return _judge(row, limit, code, bound, 1, scan_doubt, say, values)


def at_least(row, limit, code, *, bound=None, scan_doubt=0, say=ask, **values):
    """The same for a value that falls short."""
    return _judge(row, limit, code, bound, -1, scan_doubt, say, values)


def _judge(row, limit, code, bound, sign, scan_doubt, say, values):
    bound = limit.value if bound is None else bound
    value = in_unit(row["value"], row["unit"], limit.unit)
    doubt = in_unit(row["uncertainty"] or 0, row["unit"], limit.unit) + Decimal(scan_doubt)
    beyond = sign * (value - bound)
    subject = values.pop("subject", row["subject"])
    # By these the finding is found beside its value, however it words them.
    values = {"quantity": row["quantity"], "of": row["subject"]} | values
    marks = {
        "measured": with_bound(measured_figure(value, limit.unit, bound), row["details"]),
        "limit": figure(bound, limit.unit),
        "source": limit.source,
    }
    reads = row["details"].get("reads")
    may_be_worse = reads == (AT_LEAST if sign > 0 else AT_MOST)
    may_be_better = reads == (AT_MOST if sign > 0 else AT_LEAST)
    softer = note if say is note else ask
    if beyond > doubt and not may_be_better:
        yield say(code, subject, **marks, **values)
    elif beyond > doubt or may_be_worse:
        yield softer("bound_only", subject, **marks, **values)
    elif beyond > -doubt:
        shown = measured_figure(doubt, limit.unit)
        yield softer("within_doubt", subject, **marks, **values | {"doubt": shown})


def measured_figure(
    value: Decimal | int | str, unit: str, beside: Decimal | None = None
) -> str:
    """A measured value as people read it; with more decimals where few hide a difference."""
    value, beside = Decimal(value), Decimal(beside or 0)
    places = _PLACES.get(unit, 2)
    while round(value, places) == beside != value and places < MOST_PLACES:
        places += 1
    if unit == "mm":
        return f"{value:.{places}f} {unit}"
    return figure(round(value, places), unit)


def part_at(measured, subject, *roles) -> dict | None:
    """The file of a designed part that a subject names, itself or by one or two sites."""
    sites = set(subject.split("-"))
    for file in measured["files"]:
        if file["role"] in roles and (file["name"] == subject or sites <= set(file["sites"])):
            return file
    return None


def own_limit(limit, material, name):
    """A limit, with the value of the material's own instructions where they have one."""
    value = ((material or {}).get("limits") or {}).get(name)
    if value in (None, ""):
        return limit
    source = material.get("source") or "the material's own instructions"
    return replace(limit, value=Decimal(str(value)), source=source)
