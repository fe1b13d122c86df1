"""Which lot, serial or item number did a person type, or why can it not be one?

Lots and serials are names, not numbers: zeros, case, hyphens and signs stay as printed.
Nothing is corrected; where a letter may have been taken for a digit, a person looks again.
"""

import re
import unicodedata
from collections.abc import Iterable

from orders.typed.text import TypedUnreadable, clean_identifier

# Separators that people put between the digits of an item number.
_SEPARATORS = re.compile(r"[ \-\u2010-\u2015\u2212]")
_EXPONENT = re.compile(r"\d+([.,]\d+)?[eE][+-]?\d+", re.ASCII)
_FRACTION = re.compile(r"\d+[.,]0*", re.ASCII)
# Lengths of the numbers that GS1 General Specifications calls GTIN (from memory).
ITEM_NUMBER_LENGTHS = (8, 12, 13, 14)
_LOOKALIKES = str.maketrans("OIL", "011")


def read_identifier(text: str | None, *, field: str, longest: int = 40) -> str:
    """A lot or serial exactly as printed, without what nobody sees.

    Printed lots and serials are ASCII without blanks (the 82 characters of GS1 General
    Specifications, the alphabet of the health industry bar code; both from memory).
    """
    typed = clean_identifier(text)
    if not typed:
        raise TypedUnreadable("Type it as printed on the label.", field)
    if len(typed) > longest:
        raise TypedUnreadable(
            f"'{typed[:20]} ...' has {len(typed)} characters; at most {longest} can be kept.",
            field,
        )
    for place, character in enumerate(typed, 1):
        if character == " ":
            raise TypedUnreadable(
                f"'{typed}' has a blank at place {place}. A printed lot or serial has none: "
                "look at the label again and type it without the blank.",
                field,
            )
        if not "!" <= character <= "~":
            name = unicodedata.name(character, "an unknown character").lower()
            raise TypedUnreadable(
                f"'{typed}': the character at place {place} is '{character}' ({name}). Type "
                "letters A-Z, digits and signs as on a plain keyboard.",
                field,
            )
    return typed


def read_item_number(text: str | None, *, field: str = "Item number") -> str:
    """The 14 digits of a GTIN typed with 8, 12, 13 or 14 digits; its check digit must fit."""
    typed = clean_identifier(text)
    shown = typed if len(typed) <= 40 else f"{typed[:40]} ..."
    bare = typed.removeprefix("'")
    if not bare:
        raise TypedUnreadable("Type the digits under the bar code.", field)
    if _EXPONENT.fullmatch(bare):
        raise TypedUnreadable(
            f"'{shown}' was rewritten by a spreadsheet: E+ stands for digits that are lost. "
            "Read the number from the label, and format such cells as text.",
            field,
        )
    if _FRACTION.fullmatch(bare):
        raise TypedUnreadable(
            f"'{shown}' was rewritten by a spreadsheet as a decimal number. Type the digits "
            "from the label, and format such cells as text.",
            field,
        )
    digits = _SEPARATORS.sub("", bare)
    _check_digits(digits, shown, field)
    return digits.zfill(14)


def _check_digits(digits, shown, field):
    for place, character in enumerate(digits, 1):
        if not "0" <= character <= "9":
            raise TypedUnreadable(
                f"'{shown}': {_what(character)} at place {place}. An item number has digits "
                "only; look at the label again.",
                field,
            )
    if len(digits) not in ITEM_NUMBER_LENGTHS:
        raise TypedUnreadable(
            f"'{shown}' has {len(digits)} digits; an item number has 8, 12, 13 or 14. A zero "
            "at the front may have been lost: look at the label again.",
            field,
        )
    if not digits.strip("0"):
        raise TypedUnreadable(f"'{shown}' is all zeros, which names no item.", field)
    if check_digit(digits[:-1]) != digits[-1]:
        raise TypedUnreadable(
            f"The check digit of '{shown}' does not fit: at least one digit is wrong. Look at "
            "the label again.",
            field,
        )


def _what(character):
    lookalike = {"O": "0", "I": "1", "L": "1"}.get(character.upper())
    if lookalike:
        return f"there is the letter {character}, not the digit {lookalike},"
    kind = "letter" if character.isalpha() else "character"
    return f"there is the {kind} '{character}'"


def check_digit(digits: str) -> str:
    """The GS1 check digit: weights 3, 1, 3 ... from the right (GS1's check-digit page)."""
    total = sum(
        int(digit) * (3 if place % 2 == 0 else 1)
        for place, digit in enumerate(reversed(digits))
    )
    return str(-total % 10)


def twin_of(identifier: str, others: Iterable[str]) -> str | None:
    """The first other one that differs only in case, or in O and 0, or in I, l and 1."""
    for other in others:
        if other != identifier and _folded(other) == _folded(identifier):
            return other
    return None


def _folded(identifier):
    return identifier.upper().translate(_LOOKALIKES)


def warn_of_twin(identifier: str, others: Iterable[str], *, field: str) -> str:
    """One sentence where a similar one is already known, else ''. Both stay as typed."""
    twin = twin_of(identifier, others)
    if twin is None:
        return ""
    return (
        f"{field}: '{identifier}' is similar to '{twin}', which is already recorded. They are "
        "kept as two; check both labels for O and 0, I and 1, capitals and small letters."
    )
