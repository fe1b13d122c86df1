"""Which parts does a design ask for, who may inspect them, and what did a parcel bring?"""

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from datetime import date

from casework.designs.rules import in_iso
from casework.stages import Side

FINAL_SCREW, TRY_IN_SCREW = "retaining screw", "try-in screw"
# What is made of a material lot, and what is bought under a lot of its own.
MADE = frozenset({"custom abutment", "bridge", "crown"})
STOCK = frozenset({"base", FINAL_SCREW, TRY_IN_SCREW, "driver"})
# What travels with the work without being part of the design.
ENCLOSURES = ("driver", "statement")
# What stays in the mouth; the rest is set aside after delivery.
STAYS = MADE | {"base", FINAL_SCREW}
# What a try-in is about: screws for delivery stay sealed.
TRIED_IN = MADE | {"base", TRY_IN_SCREW}

AT_LABORATORY, AT_MILLING, AT_PRACTICE = "at laboratory", "at milling centre", "at practice"
ON_THE_WAY, TRIED, DELIVERED = "on the way", "tried in", "delivered"
LOST, DAMAGED, REPLACED = "lost", "damaged", "replaced"
PLACE_OF = {
    Side.PRACTICE: AT_PRACTICE,
    Side.LABORATORY: AT_LABORATORY,
    Side.MILLING_CENTRE: AT_MILLING,
}
# Parts a side may pack or record about.
IN_HAND = {
    # What arrived damaged, or was left in the mouth too early, may have to go back.
    Side.PRACTICE: frozenset({AT_PRACTICE, TRIED, DELIVERED, DAMAGED}),
    Side.LABORATORY: frozenset({AT_LABORATORY}),
    Side.MILLING_CENTRE: frozenset({AT_MILLING}),
}

REMADE_FROM = frozenset({AT_LABORATORY, AT_MILLING, LOST, DAMAGED})

PACKED, ARRIVED, TAKEN_BACK = "packed", "arrived", "taken back"
COUNTED = frozenset({ARRIVED, DAMAGED, LOST})
LOT_FORMS = ("disc", "blank", "powder", "wire", "resin", "other")

# What record_part may write.
RECORDED = (
    "component",
    "lot",
    "material_lot",
    "milling_record",
    "furnace_record",
    "made_by",
    "made_on",
    "is_sealed",
    "cost",
)


@dataclass(frozen=True, slots=True)
class Wanted:
    """One part to be made or laid ready; `design_part` is the row's key, or None."""

    kind: str
    sites: tuple[str, ...]
    design_part: int | None = None
    component: int | None = None


def parts_wanted(design_parts: Iterable[Mapping], sites: Iterable[str]) -> tuple[Wanted, ...]:
    """Every part of a version, and a final and a try-in screw for each implant site.

    `design_parts` have id, kind, sites and component. A screw the design does not name takes
    the component of the other screw of its site where there is one.
    """
    design_parts = list(design_parts)
    wanted = [
        Wanted(part["kind"], tuple(part["sites"]), part["id"], part["component"])
        for part in design_parts
    ]
    screws = {
        (part["kind"], site): part["component"]
        for part in design_parts
        if part["kind"] in (FINAL_SCREW, TRY_IN_SCREW)
        for site in part["sites"]
    }
    for site in sites:
        known = screws.get((FINAL_SCREW, site)) or screws.get((TRY_IN_SCREW, site))
        wanted += [
            Wanted(kind, (site,), None, known)
            for kind in (FINAL_SCREW, TRY_IN_SCREW)
            if (kind, site) not in screws
        ]
    return tuple(wanted)


def name_of(kind: str, sites: Collection[str]) -> str:
    """A part in a sentence."""
    return f"{kind} ({in_iso(sites)})" if sites else kind


def may_record(place: str, side: str) -> bool:
    """Has this side the part in hand? A milling centre takes over parts with its order."""
    taken_over = side == Side.MILLING_CENTRE and place == AT_LABORATORY
    return taken_over or place in IN_HAND.get(side, ())


def objections_to_record(
    *, kind: str, place: str, side: str, made_on: date | None, today: date
) -> tuple[str, ...]:
    """Why nothing can be recorded about a part by this side."""
    return tuple(_against_record(kind, place, side, made_on, today))


def _against_record(kind, place, side, made_on, today):
    if place == REPLACED:
        yield f"This {kind} was replaced by another one. Record the new one."
    elif not may_record(place, side):
        yield f"This {kind} is {place}; only who has it in hand records about it."
    if made_on and made_on > today:
        yield f"The {kind} cannot have been made on {made_on.isoformat()}: that is to come."


def objections_to_inspection(
    *, kind: str, place: str, made_on: date | None, is_maker: bool, technician_count: int
) -> tuple[str, ...]:
    """Why this person cannot inspect the part for dispatch."""
    return tuple(_against_inspection(kind, place, made_on, is_maker, technician_count))


def _against_inspection(kind, place, made_on, is_maker, technician_count):
    if place != AT_LABORATORY:
        yield f"The {kind} is {place}; it is inspected at the laboratory."
    if kind in MADE and made_on is None:
        yield f"The {kind} is not recorded as made. Record that first."
    if is_maker and technician_count >= 2:
        yield (
            f"You made this {kind}. Where a laboratory has two technicians, another one than"
            " the maker inspects it."
        )


def objections_to_parcel(
    *,
    courier: str,
    expected_on: date | None,
    today: date,
    parts: Iterable[tuple[str, Collection[str], str]],
    side: str,
) -> tuple[str, ...]:
    """Why a parcel cannot be packed so; `parts` are (kind, sites, place)."""
    return tuple(_against_parcel(courier, expected_on, today, list(parts), side))


def _against_parcel(courier, expected_on, today, parts, side):
    if not parts:
        yield "Choose the parts that travel."
    for kind, sites, place in parts:
        if place not in IN_HAND.get(side, ()):
            yield f"The {name_of(kind, sites)} is {place} and cannot be packed here."
    if not courier.strip():
        yield "Name the courier."
    if expected_on is None:
        yield "Name the day the parcel should arrive."
    elif expected_on < today:
        yield f"The parcel cannot arrive on {expected_on.isoformat()}: that day is over."


def outcome_of_count(lines: Iterable[tuple[bool, bool]]) -> str:
    """What a count says of the parcel; `lines` are (is there, is sound)."""
    lines = list(lines)
    if not any(there for there, _sound in lines):
        return LOST
    return DAMAGED if any(there and not sound for there, sound in lines) else ARRIVED


def place_after_count(is_there: bool, is_sound: bool, side: str) -> str:
    """Where a part is once it was looked for in the parcel."""
    if not is_there:
        return LOST
    return PLACE_OF[side] if is_sound else DAMAGED


def objections_to_remake(kind: str, place: str, reason: str) -> tuple[str, ...]:
    """Why a part cannot be made anew."""
    found = []
    if place not in REMADE_FROM:
        found.append(f"This {kind} is {place}. It is made anew once it is back, or gone.")
    if not reason.strip():
        found.append(f"Say why the {kind} is made anew.")
    return tuple(found)
