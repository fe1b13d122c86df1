"""Which number did a person type, or why can it not be told?

A decimal comma is a decimal point. What could be a decimal comma as well as a thousands
separator is refused, because a guess is wrong by a factor of a thousand.
"""

import re
from decimal import Decimal

from orders.typed.text import TypedUnreadable, clean_identifier

_LONGEST = 30
_PLAIN = re.compile(r"[+-]?\d+([.,]\d+)?", re.ASCII)
_GROUPED = re.compile(r"([+-]?)(\d{1,3}(?:([.,' ])\d{3})(?:\3\d{3})*)([.,]\d+)?", re.ASCII)
_UNIT_BEHIND = re.compile(r"(.*?\d)\s*([^\d\s.,'+-][^\d]*)")
_MINUS = str.maketrans("\u2212\u2010\u2011\u2013", "----")


def read_number(
    text: str | None,
    *,
    field: str,
    unit: str = "",
    minimum: Decimal | int | str | None = None,
    maximum: Decimal | int | str | None = None,
    places: int | None = None,
) -> Decimal:
    """The exact number typed into `field`, between the limits and with at most `places` places.

    Its unit may stand behind it; another unit is refused, never converted.
    """
    typed = clean_identifier(text).translate(_MINUS)
    if not typed:
        raise TypedUnreadable(f"Type a number{_in_unit(unit)}.", field)
    if len(typed) > _LONGEST:
        raise TypedUnreadable(f"'{typed[:20]} ...' is too long for a number.", field)
    plain = _without_unit(typed, unit, field)
    if not _PLAIN.fullmatch(plain):
        raise TypedUnreadable(_why_no_number(typed, plain), field)
    if readings := _two_readings(plain):
        raise TypedUnreadable(
            f"'{typed}' can be read as {readings[0]} or as {readings[1]}. Type "
            f"{readings[0]} or {readings[1]}, with a point before decimals and no "
            "separator of thousands.",
            field,
        )
    value = _trimmed(Decimal(plain.replace(",", ".")))
    _check(value, field, unit, minimum, maximum, places)
    return value


def _in_unit(unit):
    return f" in {unit}" if unit else ""


def _without_unit(typed, unit, field):
    found = _UNIT_BEHIND.fullmatch(typed)
    if not found or re.fullmatch(r"[eE]", found[2]):
        return typed
    if unit and _same_unit(found[2], unit):
        return found[1]
    wanted = f"Type the value in {unit}." if unit else "Type the number alone."
    raise TypedUnreadable(f"'{typed}' ends in '{found[2]}'. {wanted}", field)


def _same_unit(typed, unit):
    bare = re.compile(r"[\s.\u00b7*\u22c5]")
    return bare.sub("", typed).casefold() == bare.sub("", unit).casefold()


def _two_readings(plain):
    """Both numbers that 4,300 can mean. 0,150 cannot group; a point is a decimal point."""
    whole, comma, rest = plain.partition(",")
    digits = whole.lstrip("+-")
    if comma and len(rest) == 3 and len(digits) <= 3 and not digits.startswith("0"):
        return _trimmed(Decimal(f"{whole}.{rest}")), Decimal(whole + rest)
    return None


def _why_no_number(typed, plain):
    grouped = _GROUPED.fullmatch(plain)
    if grouped and (grouped[4] or "")[:1] != grouped[3]:
        whole = re.sub(r"[.,' ]", "", grouped[2])
        meant = grouped[1] + whole + (grouped[4] or "").replace(",", ".")
        return (
            f"'{typed}' has a separator of thousands. Type it without: {meant}, with one "
            "decimal point or comma at most."
        )
    if re.fullmatch(r"[+-]?[.,]\d+", plain, re.ASCII):
        return (
            f"'{typed}' begins with its decimal point or comma. "
            f"Type the digit before it: 0.{plain.lstrip('+-')[1:]}, if that is meant."
        )
    if re.fullmatch(r"[+-]?\d+[.,]", plain, re.ASCII):
        return f"'{typed}' ends in its decimal point or comma. Type the digits after it."
    if len(re.findall(r"[.,]", plain)) > 1:
        return f"'{typed}' has more than one decimal point or comma. Type it with one."
    if re.search(r"\d.*\s.*\d", plain):
        return f"'{typed}' has a blank inside the number. Type it without."
    return f"'{typed}' is no number. Type digits, with a decimal point or comma."


def _trimmed(value):
    """Without trailing zeros and without an exponent."""
    text = format(value, "f")
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return Decimal("0" if text in ("-0", "+0") else text)


def _check(value, field, unit, minimum, maximum, places):
    said = f"{value:f} {unit}".rstrip()
    if places is not None and -value.as_tuple().exponent > places:
        raise TypedUnreadable(
            f"{said} has more digits behind the point than the {places} that are kept.", field
        )
    for limit, word, passed in (
        (minimum, "below", minimum is not None and value < Decimal(minimum)),
        (maximum, "above", maximum is not None and value > Decimal(maximum)),
    ):
        if passed:
            bound = f"{limit} {unit}".rstrip()
            raise TypedUnreadable(
                f"{said} is {word} {bound}, the {'least' if word == 'below' else 'most'} that "
                "can be entered here. Check the decimal point and the unit.",
                field,
            )
