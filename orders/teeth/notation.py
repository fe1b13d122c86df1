"""Which tooth is meant, and how do people write it?

Two notations beside ISO 3950 are read and written at the edge, always with their name beside
them: "12" is an upper right lateral incisor in one and an upper left first premolar in another.

Sources: the two-digit rule of ISO 3950, the numbering 1-32 and A-T, and quadrant notation, all
from memory; the tests compare with a table made from the published rule.
"""

import re
from collections.abc import Iterable
from enum import StrEnum

from orders.teeth.arch import (
    ARCHES,
    CODES,
    PLACES,
    Jaw,
    ToothUnreadable,
    corner_of,
    describe,
    in_arch_order,
    place_of,
    runs_of,
    span_between,
)
from orders.typed.text import clean_identifier


class Notation(StrEnum):
    ISO = "iso"
    UNIVERSAL = "universal"
    QUADRANT = "quadrant"


LABELS = {
    Notation.ISO: "ISO 3950, two digits (11 to 48, primary teeth 51 to 85)",
    Notation.UNIVERSAL: "universal, 1 to 32 (primary teeth A to T)",
    Notation.QUADRANT: "quadrant and place (UR8 to LR8, primary teeth URE to LRE)",
}
SHORT_LABELS = {
    Notation.ISO: "ISO 3950",
    Notation.UNIVERSAL: "universal notation",
    Notation.QUADRANT: "quadrant notation",
}

# Universal numbers run along the upper jaw from the patient's right, back along the lower.
_UNIVERSAL = {
    **{code: str(n) for n, code in enumerate(ARCHES[Jaw.UPPER, False], 1)},
    **{code: str(n) for n, code in enumerate(reversed(ARCHES[Jaw.LOWER, False]), 17)},
    **dict(zip(ARCHES[Jaw.UPPER, True], "ABCDEFGHIJ", strict=True)),
    **dict(zip(reversed(ARCHES[Jaw.LOWER, True]), "KLMNOPQRST", strict=True)),
}
_QUADRANT = {
    code: corner_of(code) + ("ABCDE"[int(code[1]) - 1] if primary else code[1])
    for code, (_, primary, _) in PLACES.items()
}
_WRITTEN = {
    Notation.ISO: {code: code for code in CODES},
    Notation.UNIVERSAL: _UNIVERSAL,
    Notation.QUADRANT: _QUADRANT,
}
_READ = {
    notation: {text: code for code, text in table.items()}
    for notation, table in _WRITTEN.items()
}

# All 52 teeth in the longest notation, with separators.
_LONGEST = 300
_DASHES = re.compile(r"\s*[-\u2010-\u2015\u2212\uff0d]\s*|\s+to\s+")
_BETWEEN = re.compile(r"\s*[,;+&]\s*|\s+and\s+|\s+")
_QUADRANT_BLANK = re.compile(r"(?i)\b([UL][RL])\s+(?=[1-8A-E]\b)")


def read_tooth(text: str, notation: Notation) -> str:
    """The ISO 3950 code of a tooth typed in `notation`."""
    typed = clean_identifier(text)
    if not typed:
        raise ToothUnreadable("Type a tooth number.")
    spelled = typed.upper() if notation == Notation.QUADRANT else typed
    spelled = _QUADRANT_BLANK.sub(r"\1", spelled)
    code = _READ[Notation(notation)].get(spelled)
    if code is None:
        raise ToothUnreadable(_why_no_tooth(typed, Notation(notation)))
    return code


def _why_no_tooth(typed, notation):
    shown = typed if len(typed) <= 20 else f"{typed[:20]} ..."
    sentence = f"'{shown}' is no tooth in {LABELS[notation]}."
    if notation == Notation.UNIVERSAL and typed.upper() in _READ[notation]:
        return f"{sentence} Type the letter of a primary tooth as a capital."
    others = possible_readings(typed)
    if others:
        meant = "; ".join(
            f"in {SHORT_LABELS[other]} it would be the {describe(code)}"
            for other, code in others.items()
        )
        return f"{sentence} But {meant}. Type it again, in the notation shown."
    return f"{sentence} Check it and type it again."


def write_tooth(code: str, notation: Notation) -> str:
    """The code as `notation` writes it."""
    place_of(code)
    return _WRITTEN[Notation(notation)][code]


def possible_readings(text: str) -> dict[Notation, str]:
    """Every notation in which the text names a tooth, with the tooth it names."""
    typed = clean_identifier(text)
    spelled = {Notation.QUADRANT: _QUADRANT_BLANK.sub(r"\1", typed.upper())}
    return {
        notation: table[spelled.get(notation, typed)]
        for notation, table in _READ.items()
        if spelled.get(notation, typed) in table
    }


def warn_of_other_readings(text: str, notation: Notation) -> str:
    """One sentence where the tooth or range means other teeth in another notation, else ''."""
    codes = read_range(text, notation)
    meant = []
    for other in Notation:
        try:
            there = read_range(text, other)
        except ToothUnreadable:
            continue
        if there != codes:
            meant.append(f"in {SHORT_LABELS[other]} it would be {_in_words(there)}")
    if not meant:
        return ""
    return (
        f"'{clean_identifier(text)}' was read in {SHORT_LABELS[Notation(notation)]} as "
        f"{_in_words(codes)}; {'; '.join(meant)}."
    )


def _in_words(codes):
    """One tooth by name, several by their ends: enough to see that the wrong ones are meant."""
    if len(codes) == 1:
        return f"the {describe(codes[0])} (ISO {codes[0]})"
    ends = f"{describe(codes[0])} to {describe(codes[-1])}"
    return f"{len(codes)} teeth, {ends} (ISO {write_span(codes, Notation.ISO)})"


def read_range(text: str, notation: Notation) -> tuple[str, ...]:
    """The teeth of a typed list of teeth and ranges, each jaw from the patient's right to left.

    "45-47, 36" or "13-23". A range follows the arch, across the midline too, whichever end is
    typed first; it stays in one jaw. A tooth named twice is refused.
    """
    typed = clean_identifier(text)
    if not typed:
        raise ToothUnreadable("Type at least one tooth, for example 45 or 45-47.")
    if len(typed) > _LONGEST:
        raise ToothUnreadable(f"'{typed[:20]} ...' is too long for a list of teeth.")
    joined = _QUADRANT_BLANK.sub(r"\1", _DASHES.sub("-", typed))
    parts = [part for part in _BETWEEN.split(joined) if part]
    if not parts:
        raise ToothUnreadable(f"'{typed}' names no tooth.")
    codes = [code for part in parts for code in _read_part(part, notation)]
    for code in codes:
        if codes.count(code) > 1:
            raise ToothUnreadable(
                f"'{typed}' names {write_tooth(code, notation)} ({describe(code)}) twice. "
                "Name each tooth once."
            )
    return in_arch_order(codes)


def _read_part(part, notation):
    ends = part.split("-")
    if len(ends) > 2 or not all(ends):
        raise ToothUnreadable(
            f"'{part}' is no range. Type its first and last tooth with one hyphen between."
        )
    teeth = [read_tooth(end, notation) for end in ends]
    if len(teeth) == 1:
        return tuple(teeth)
    try:
        return span_between(*teeth)
    except ToothUnreadable as refused:
        raise ToothUnreadable(f"'{part}': {refused.sentence}") from None


def write_span(codes: Iterable[str], notation: Notation) -> str:
    """The teeth as briefly as `notation` allows: "45-47, 36"; three in a row make a range."""
    written = []
    for run in runs_of(in_arch_order(codes)):
        if notation == Notation.UNIVERSAL or run[0][0] == run[-1][0]:
            run = sorted(run, key=lambda code: _rising(code, notation))
        words = [write_tooth(code, notation) for code in run]
        written += [f"{words[0]}-{words[-1]}"] if len(words) > 2 else words
    return ", ".join(written)


def _rising(code, notation):
    text = write_tooth(code, notation)
    return (len(text), text)
