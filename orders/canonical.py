"""What is the one way to write facts as text before they are hashed or signed?

JSON with sorted keys and no spare blanks, text in Unicode form NFC, encoded as UTF-8. A float
is refused because its text depends on who prints it: amounts are Decimal and are written as
text without an exponent or trailing zeros. A moment is written in UTC with "Z". Whatever has
no single spelling (a set, a moment without a zone, an object) is refused with a TypeError.
Writing what was read back gives the same text.
"""

import hashlib
import json
import unicodedata
from datetime import UTC, date, datetime
from decimal import Decimal
from enum import Enum

# Wider than any measured quantity; keeps 1E+999999 from becoming a million digits.
_MOST_DIGITS = 100


def text_of(facts: object) -> str:
    """The canonical text of plain facts: None, bool, int, str, Decimal, date, datetime, lists,
    tuples and dictionaries with text keys."""
    plain = _plain(facts, "facts")
    return json.dumps(
        plain, ensure_ascii=False, allow_nan=False, sort_keys=True, separators=(",", ":")
    )


def digest_of(facts: object) -> str:
    """SHA-256 of the canonical text, as 64 lower-case hexadecimal digits."""
    return digest_of_bytes(text_of(facts).encode())


def digest_of_bytes(data: bytes) -> str:
    """SHA-256 of bytes, as 64 lower-case hexadecimal digits (FIPS 180-4)."""
    return hashlib.sha256(data).hexdigest()


def _plain(value, where):
    if value is None or isinstance(value, bool):
        return value
    if isinstance(value, Enum):
        return _plain(value.value, where)
    if isinstance(value, str):
        return _text(value, where)
    if isinstance(value, int):
        return int(value)
    if isinstance(value, Decimal):
        return _amount(value, where)
    if isinstance(value, datetime):
        return _moment(value, where)
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, list | tuple):
        return [_plain(item, f"{where}[{place}]") for place, item in enumerate(value)]
    if isinstance(value, dict):
        return _table(value, where)
    raise TypeError(f"{where} is a {type(value).__name__}, which has no canonical text.")


def _text(value, where):
    text = unicodedata.normalize("NFC", value)
    if any("\ud800" <= character <= "\udfff" for character in text):
        raise ValueError(f"{where} holds half of a character pair and cannot be written.")
    return text


def _amount(value, where):
    if not value.is_finite():
        raise ValueError(f"{where} is {value}, which is not a number.")
    if abs(value.adjusted()) > _MOST_DIGITS or len(value.as_tuple().digits) > _MOST_DIGITS:
        raise ValueError(f"{where} has more than {_MOST_DIGITS} digits.")
    text = format(value, "f")
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def _moment(value, where):
    if value.utcoffset() is None:
        raise TypeError(f"{where} is a moment without a time zone.")
    return value.astimezone(UTC).isoformat().replace("+00:00", "Z")


def _table(value, where):
    table = {}
    for key, item in value.items():
        if not isinstance(key, str):
            raise TypeError(f"{where} has the key {key!r}, which is not text.")
        name = _text(str(key), f"a key of {where}")
        if name in table:
            raise ValueError(f"{where} has the key {name!r} twice.")
        table[name] = _plain(item, f"{where}[{name!r}]")
    return table
