"""Which strength class do the ordered pieces need, and is the one prescribed enough?"""

from collections.abc import Iterable, Mapping

from orders.catalogue.rules import (
    CERAMIC_CLASSES,
    CERAMIC_SOURCE,
    CERAMICS,
    FAMILY_LABELS,
    METAL_SOURCE,
    METAL_TYPES,
    METALS,
    class_needed,
    type_needed,
)
from orders.objections import ASK, STOP, Objection, objection
from orders.prescriptions.sentences import INCOHERENT
from orders.prescriptions.units import KINDS, Piece, pieces_of
from orders.teeth import CODES, is_front, is_molar


def needed_for(piece: Piece, family: str) -> int | None:
    """The least class (ceramic) or type (metal) for one piece; None where none is known."""
    count = len(piece.units)
    if family in METALS:
        return type_needed(count, on_implants=bool(piece.standing_on("implant")))
    if family not in CERAMICS:
        return None
    return class_needed(
        count,
        any(map(is_molar, piece.teeth)),
        is_front=all(map(is_front, piece.teeth)),
    )


def proposed_class(facts: Mapping) -> int | None:
    """The least class that suffices for every ordered piece, or None where none is known."""
    units = facts.get("units") or []
    readable = all(unit["tooth"] in CODES and unit["kind"] in KINDS for unit in units)
    if not units or not readable:
        return None
    needed = [
        needed_for(piece, facts.get("material_family") or "") for piece in pieces_of(units)
    ]
    return None if None in needed else max(needed)


def class_words(facts: Mapping) -> str:
    """The class that these units need, in words; "" where none is known."""
    needed = proposed_class(facts)
    if needed is None:
        return ""
    if facts.get("material_family") in METALS:
        return f"type {needed} or higher ({METAL_SOURCE})"
    return f"class {needed} or higher ({CERAMIC_SOURCE})"


def class_objections(facts: Mapping, pieces: Iterable[Piece]) -> tuple[Objection, ...]:
    """Pieces for which the prescribed class is too low, or for which no limit is known."""
    family, chosen = facts.get("material_family"), facts.get("strength_class")
    if not family:
        return ()
    label = str(FAMILY_LABELS.get(family, family)).lower()
    if family not in CERAMICS | METALS:
        return tuple(
            _say("material_limit_unknown", ASK, piece.span, family=label) for piece in pieces
        )
    if chosen is None:
        return ()
    table, source = (
        (METAL_TYPES, METAL_SOURCE) if family in METALS else (CERAMIC_CLASSES, CERAMIC_SOURCE)
    )
    if chosen not in table:
        limit = f"{min(table)} to {max(table)}"
        return (
            _say("class_impossible", STOP, "", family=label, measured=str(chosen), limit=limit),
        )
    return tuple(
        _say(
            "class_too_low",
            STOP,
            piece.span,
            measured=str(chosen),
            limit=f"{needed} or higher",
            source=source,
        )
        for piece in pieces
        if chosen < (needed := needed_for(piece, family))
    )


def _say(code, weight, span, **values):
    return objection(INCOHERENT, code, weight, subject=span, field="strength_class", **values)
