"""What did a person mean to type, once what nobody sees is taken away?"""

import re
import unicodedata

# Zero-width blanks and joiners, byte order mark, soft hyphen, direction marks.
INVISIBLE = (
    "\u00ad\u061c\u180e\u200b\u200c\u200d\u200e\u200f\u2060\u2061\u2062\u2063\u2064\ufeff"
)
_BLANKS = "".join(character for character in map(chr, range(0x3001)) if character.isspace())
# Stripped by characters: a pattern for the end would try again at every blank inside.
_ENDS = _BLANKS + INVISIBLE
# Full-width forms of ASCII, U+FF01 to U+FF5E (Unicode, Halfwidth and Fullwidth Forms).
_NARROW = {code: code - 0xFEE0 for code in range(0xFF01, 0xFF5F)}
_GONE = dict.fromkeys(map(ord, INVISIBLE))
# Control characters other than line feed and tab; PostgreSQL cannot store the first of them.
_CONTROL = re.compile(r"[\x00-\x08\x0b-\x1f\x7f-\x9f]")
# Half of a character pair: no database and no page can hold it.
_HALVES = re.compile(r"[\ud800-\udfff]")


class TypedUnreadable(ValueError):
    """What was typed cannot be used; the text is the sentence to show, `field` names where."""

    def __init__(self, sentence: str, field: str = ""):
        self.sentence = sentence
        self.field = field
        super().__init__(f"{field}: {sentence}" if field else sentence)


def clean_text(text: str | None) -> str:
    """Free text in NFC with plain line ends, without control characters or blank ends.

    Invisible characters inside stay: joiners shape Persian words and composed pictures.
    """
    plain = unicodedata.normalize("NFC", _HALVES.sub("\ufffd", text or ""))
    plain = plain.replace("\r\n", "\n").replace("\r", "\n").replace("\x85", "\n")
    plain = _CONTROL.sub("", plain)
    return plain.strip(_ENDS)


def clean_identifier(text: str | None) -> str:
    """An identifier without invisible characters, full-width forms as ASCII, ends trimmed.

    Blanks of every kind inside become a plain blank, so that a reader can name them. Case,
    zeros and hyphens stay as typed.
    """
    plain = _HALVES.sub("\ufffd", text or "").translate(_GONE).translate(_NARROW)
    plain = "".join(" " if _is_blank(character) else character for character in plain)
    return re.sub(" +", " ", plain).strip()


def _is_blank(character):
    return character.isspace() or unicodedata.category(character) in ("Zs", "Cc")
