"""Which quantities are read in the mouth, in which unit and range, and does a reading hold?"""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

DIRECTIONS = ("mesial", "distal", "buccal", "lingual", "forward", "reverse")
_ASPECTS = ("mesial", "distal", "buccal", "lingual")
_TURNS = ("forward", "reverse")

TIGHTENED_HOW = ("torque wrench", "driver by hand")
BITE_POSITIONS = ("maximum intercuspation", "centric relation", "other")


@dataclass(frozen=True, slots=True)
class Quantity:
    """One kind of reading: a number with unit and possible range, or a yes or no."""

    label: str
    unit: str = ""
    low: Decimal | None = None
    high: Decimal | None = None
    directions: tuple[str, ...] = ()
    direction_needed: bool = False
    is_yes_or_no: bool = False
    # What the yes or no asks, also beside a number.
    asks: str = ""


# Outside the range an entry is an error. The stability quotient is a scale of 1 to 100; the
# other ranges hold whatever a wrench or a probe can show (common practice, no source).
QUANTITIES = {
    "stability_quotient": Quantity(
        "stability quotient", "(1-100)", Decimal(1), Decimal(100), _ASPECTS, True
    ),
    "insertion_torque_ncm": Quantity("insertion torque", "N·cm", Decimal(0), Decimal(150)),
    "torque_test_ncm": Quantity(
        "torque test",
        "N·cm",
        Decimal(1),
        Decimal(60),
        _TURNS,
        True,
        asks="held without rotation",
    ),
    "probing_mm": Quantity("probing depth", "mm", Decimal(0), Decimal(20), _ASPECTS, True),
    "bone_level_mm": Quantity(
        "bone level below the platform",
        "mm",
        Decimal(-5),
        Decimal(20),
        ("mesial", "distal"),
        True,
    ),
    "bleeding": Quantity(
        "bleeding on probing", directions=_ASPECTS, is_yes_or_no=True, asks="bleeding"
    ),
    "mobility": Quantity("mobility", is_yes_or_no=True, asks="moves"),
    "pus": Quantity("pus", is_yes_or_no=True, asks="pus"),
}


def objections_to_reading(
    *,
    quantity: str,
    value: Decimal | None,
    direction: str,
    held: bool | None,
    measured_on: date | None,
    today: date,
    placed_on: date | None = None,
) -> tuple[str, ...]:
    """Why a reading cannot be entered as typed; empty when it can."""
    kind = QUANTITIES.get(quantity)
    if kind is None:
        known = ", ".join(each.label for each in QUANTITIES.values())
        return (f"'{quantity}' is no reading known here. Choose one of: {known}.",)
    return (
        *_against_value(kind, value, held),
        *_against_direction(kind, direction),
        *_against_day(kind, measured_on, today, placed_on),
    )


def _against_value(kind, value, held):
    if kind.is_yes_or_no:
        if held is None:
            yield f"Say yes or no for {kind.label}."
        if value is not None:
            yield f"{kind.label.capitalize()} is answered with yes or no, not with a number."
        return
    if value is None:
        yield f"Type the {kind.label} in {kind.unit}."
    elif not kind.low <= value <= kind.high:
        yield (
            f"A {kind.label} of {value} cannot be: it lies between {kind.low} and {kind.high}"
            f" {kind.unit}. Check the entry and its decimal point."
        )
    if kind.asks and held is None:
        yield f"Say whether the {kind.label} was {kind.asks}."


def _against_direction(kind, direction):
    if kind.direction_needed and not direction:
        yield f"Say in which direction the {kind.label} was read: {_either(kind.directions)}."
    elif direction and direction not in kind.directions:
        if kind.directions:
            yield f"A {kind.label} is read {_either(kind.directions)}, not {direction}."
        else:
            yield f"A {kind.label} has no direction. Leave it empty."


def _against_day(kind, measured_on, today, placed_on):
    if measured_on is None:
        yield f"Name the day the {kind.label} was read."
    elif measured_on > today:
        yield f"The {kind.label} is dated {measured_on.isoformat()}, which is still to come."
    elif placed_on and measured_on < placed_on:
        yield (
            f"The {kind.label} is dated {measured_on.isoformat()}, before the implant was "
            f"placed on {placed_on.isoformat()}."
        )


def _either(words):
    return f"{', '.join(words[:-1])} or {words[-1]}"


def objections_to_seating(*, has_radiograph: bool, reason: str, by: str) -> tuple[str, ...]:
    """Why the seating of a scan body is not told well; empty where nothing is said yet."""
    if has_radiograph and reason:
        return ("Seating is shown by the radiograph; leave the reason empty.",)
    if reason and not by:
        return ("Name the clinician who saw the scan body seated.",)
    if by and not reason:
        return ("Say how the clinician saw that the scan body was seated.",)
    return ()
