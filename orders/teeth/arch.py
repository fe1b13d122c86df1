"""Where does a tooth stand, and what stands beside it?

Inside, a tooth is always the two characters of ISO 3950: quadrant (1 upper right, 2 upper left,
3 lower left, 4 lower right; 5 to 8 the same for primary teeth), then the place counted from the
midline. Right and left are the patient's. It is text, not a number: nobody adds teeth.

Source: the rule and the areas of ISO 3950, from memory.
"""

from collections.abc import Iterable
from enum import StrEnum

from orders.typed.text import TypedUnreadable


class Jaw(StrEnum):
    UPPER = "upper"
    LOWER = "lower"


class ToothUnreadable(TypedUnreadable):
    """The text names no tooth; the sentence says what to type instead."""


_PERMANENT_NAMES = (
    "central incisor",
    "lateral incisor",
    "canine",
    "first premolar",
    "second premolar",
    "first molar",
    "second molar",
    "third molar",
)
_PRIMARY_NAMES = _PERMANENT_NAMES[:3] + ("first molar", "second molar")
_CORNERS = ("UR", "UL", "LL", "LR")
_WORDS = {"U": "upper", "L": "lower"}, {"R": "right", "L": "left"}


def _row(right, left, count):
    """Codes of one jaw from the patient's right to left."""
    places = range(1, count + 1)
    return tuple(f"{right}{p}" for p in reversed(places)) + tuple(f"{left}{p}" for p in places)


ARCHES = {
    (Jaw.UPPER, False): _row(1, 2, 8),
    (Jaw.LOWER, False): _row(4, 3, 8),
    (Jaw.UPPER, True): _row(5, 6, 5),
    (Jaw.LOWER, True): _row(8, 7, 5),
}
PLACES = {
    code: (jaw, primary, place)
    for (jaw, primary), arch in ARCHES.items()
    for place, code in enumerate(arch)
}
CODES = tuple(PLACES)

# ISO 3950 codes of areas, from memory.
AREAS = {
    "00": "whole mouth",
    "01": "upper jaw",
    "02": "lower jaw",
    "10": "upper right quadrant",
    "20": "upper left quadrant",
    "30": "lower left quadrant",
    "40": "lower right quadrant",
    "03": "upper right back teeth",
    "04": "upper front teeth",
    "05": "upper left back teeth",
    "06": "lower left back teeth",
    "07": "lower front teeth",
    "08": "lower right back teeth",
}


def describe(code: str) -> str:
    """The tooth in words: "lower right second premolar"."""
    _, primary, _ = place_of(code)
    names = _PRIMARY_NAMES if primary else _PERMANENT_NAMES
    jaw, side = (words[letter] for words, letter in zip(_WORDS, corner_of(code), strict=True))
    words = f"{jaw} {side} {names[int(code[1]) - 1]}"
    return f"primary {words}" if primary else words


def span_between(first: str, last: str) -> tuple[str, ...]:
    """All teeth from one to the other along the arch, from the patient's right to left."""
    (jaw, primary, start), (other_jaw, other_primary, end) = place_of(first), place_of(last)
    if jaw != other_jaw:
        raise ToothUnreadable(
            f"a range stays in one jaw, but {describe(first)} and {describe(last)} are in "
            "different jaws. Type one range for each jaw."
        )
    if primary != other_primary:
        raise ToothUnreadable(
            "a range runs over permanent or over primary teeth. Type one range for each."
        )
    start, end = sorted((start, end))
    return ARCHES[jaw, primary][start : end + 1]


def in_arch_order(codes: Iterable[str]) -> tuple[str, ...]:
    """The codes by jaw (upper first), permanent before primary, from the patient's right."""

    def order(code):
        jaw, primary, place = place_of(code)
        return (jaw != Jaw.UPPER, primary, place)

    return tuple(sorted(codes, key=order))


def along_arch(jaw: Jaw, *, primary: bool = False) -> tuple[str, ...]:
    """Every tooth of a jaw from the patient's right to left."""
    return ARCHES[Jaw(jaw), primary]


def neighbours(code: str) -> tuple[str, ...]:
    """The one or two teeth beside it: toward the patient's right, then left."""
    jaw, primary, place = place_of(code)
    arch = ARCHES[jaw, primary]
    return tuple(arch[i] for i in (place - 1, place + 1) if 0 <= i < len(arch))


def are_contiguous(codes: Iterable[str]) -> bool:
    """Whether the teeth stand side by side in one arch, each named once."""
    codes = in_arch_order(codes)
    return len(set(codes)) == len(codes) and len(runs_of(codes)) == 1


def opposing(code: str) -> str:
    """The tooth of the same name in the other jaw."""
    place_of(code)
    return "43218765"[int(code[0]) - 1] + code[1]


def jaw_of(code: str) -> Jaw:
    return place_of(code)[0]


def side_of(code: str) -> str:
    """The patient's side: "right" or "left"."""
    place_of(code)
    return "right" if code[0] in "1458" else "left"


def is_primary(code: str) -> bool:
    return place_of(code)[1]


def is_front(code: str) -> bool:
    """Incisors and canines."""
    place_of(code)
    return code[1] in "123"


def is_molar(code: str) -> bool:
    molars = "45" if is_primary(code) else "678"
    return code[1] in molars


def area_of(codes: Iterable[str]) -> str:
    """The smallest ISO 3950 area that holds all the teeth: sextant, quadrant, jaw or mouth."""
    codes = in_arch_order(codes)
    if not codes:
        raise ToothUnreadable("No tooth is named.")
    for areas in zip(*map(_areas, codes), strict=True):
        if len(set(areas)) == 1:
            return areas[0]
    return "00"


def _areas(code):
    """The sextant, quadrant and jaw that hold one tooth."""
    quadrant = (int(code[0]) - 1) % 4
    sextant = "4477"[quadrant] if is_front(code) else "3568"[quadrant]
    return "0" + sextant, f"{quadrant + 1}0", "0" + "1122"[quadrant]


def place_of(code: str) -> tuple[Jaw, bool, int]:
    """Its jaw, whether it is a primary tooth, and its place from the patient's right."""
    try:
        return PLACES[code]
    except (KeyError, TypeError):
        raise ToothUnreadable(f"'{code}' is no ISO 3950 code of a tooth.") from None


def corner_of(code: str) -> str:
    """Two letters for the quadrant: U or L for the jaw, R or L for the patient's side."""
    place_of(code)
    return _CORNERS[(int(code[0]) - 1) % 4]


def runs_of(codes: Iterable[str]) -> list[list[str]]:
    """Teeth in arch order, parted where the next one is no neighbour."""
    runs = []
    for code in codes:
        if runs and code in neighbours(runs[-1][-1]):
            runs[-1].append(code)
        else:
            runs.append([code])
    return runs
