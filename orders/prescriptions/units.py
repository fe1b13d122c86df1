"""Which units are joined into one piece, and how are rows of a form turned into units?

A unit is {"tooth", "kind", "on"}; a retainer or pontic is joined to its neighbours, a crown
stands alone. Where two joined pieces touch, "piece" tells them apart; without it, joined units
side by side are one piece. A pontic that is meant to end free has "free": true.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from orders.teeth import along_arch, in_arch_order, is_primary, jaw_of, neighbours

KINDS = ("retainer", "pontic", "crown")
SUPPORTS = ("implant", "tooth")


@dataclass(frozen=True, slots=True)
class Piece:
    """Units made in one, from the patient's right to left."""

    units: tuple[dict, ...]

    @property
    def teeth(self):
        return tuple(unit["tooth"] for unit in self.units)

    @property
    def span(self):
        teeth = self.teeth
        return teeth[0] if len(teeth) == 1 else f"{teeth[0]}-{teeth[-1]}"

    @property
    def is_single(self):
        return len(self.units) == 1

    @property
    def gaps(self):
        """Teeth between the first and the last that are not units."""
        first, last = self.teeth[0], self.teeth[-1]
        arch = along_arch(jaw_of(first), primary=is_primary(first))
        between = arch[arch.index(first) : arch.index(last) + 1]
        return tuple(tooth for tooth in between if tooth not in self.teeth)

    def of_kind(self, kind):
        return tuple(unit for unit in self.units if unit["kind"] == kind)

    def standing_on(self, support):
        return tuple(unit["tooth"] for unit in self.units if unit.get("on") == support)

    def free_ends(self):
        """Runs of pontics with a retainer on one side only."""
        kinds = [unit["kind"] for unit in self.units]
        if "retainer" not in kinds:
            return ()
        first = kinds.index("retainer")
        last = len(kinds) - 1 - kinds[::-1].index("retainer")
        return tuple(run for run in (self.units[:first], self.units[last + 1 :]) if run)


def pieces_of(units: Iterable[Mapping]) -> tuple[Piece, ...]:
    """The pieces of an order, along the arch. All teeth must be ISO 3950 codes."""
    by_tooth = {unit["tooth"]: dict(unit) for unit in units}
    pieces, named = [], {}
    for tooth in in_arch_order(by_tooth):
        unit = by_tooth[tooth]
        if unit["kind"] == "crown":
            pieces.append([unit])
        elif unit.get("piece") is not None:
            if unit["piece"] not in named:
                named[unit["piece"]] = []
                pieces.append(named[unit["piece"]])
            named[unit["piece"]].append(unit)
        elif pieces and _continues(pieces[-1][-1], tooth):
            pieces[-1].append(unit)
        else:
            pieces.append([unit])
    return tuple(Piece(tuple(piece)) for piece in pieces)


def _continues(before, tooth):
    joined = before["kind"] != "crown" and before.get("piece") is None
    return joined and tooth in neighbours(before["tooth"])


def units_of_row(
    teeth: Sequence[str],
    *,
    joined: bool,
    pontics: Iterable[str] = (),
    on_teeth: Iterable[str] = (),
    ends_free: bool = False,
    piece: int | None = None,
) -> list[dict]:
    """The units of one typed row: its teeth are on implants but for those named otherwise."""
    pontics, on_teeth = frozenset(pontics), frozenset(on_teeth)
    units = []
    for tooth in in_arch_order(teeth):
        kind = "pontic" if tooth in pontics else "retainer" if joined else "crown"
        on = "" if kind == "pontic" else "tooth" if tooth in on_teeth else "implant"
        unit = {"tooth": tooth, "kind": kind, "on": on}
        if joined and piece is not None:
            unit["piece"] = piece
        units.append(unit)
    if ends_free:
        for run in Piece(tuple(units)).free_ends():
            for unit in run:
                unit["free"] = True
    return units


def objections_to_row(
    teeth: Sequence[str],
    *,
    joined: bool,
    pontics: Iterable[str] = (),
    on_teeth: Iterable[str] = (),
) -> tuple[tuple[str, str], ...]:
    """Field and sentence for what one typed row says twice or against itself."""
    pontics, on_teeth = tuple(pontics), tuple(on_teeth)
    found = []
    if pontics and not joined:
        found.append(("pontics", "Single crowns have no pontics. Choose joined units."))
    if joined and len(teeth) == 1:
        found.append(("joined", "One unit is a single crown. Name the teeth joined to it."))
    for field, named in (("pontics", pontics), ("on_teeth", on_teeth)):
        outside = [tooth for tooth in named if tooth not in teeth]
        if outside:
            found.append(
                (field, f"{', '.join(outside)} (ISO) is not among the units of this row.")
            )
    both = [tooth for tooth in on_teeth if tooth in pontics]
    if both:
        found.append(
            ("on_teeth", f"{', '.join(both)} (ISO) cannot be a pontic and stand on a tooth.")
        )
    return tuple(found)


def normalised(units: Iterable[Mapping]) -> list[dict]:
    """Units as they are stored: along the arch, known keys only, a pontic on nothing.

    Raises ToothUnreadable for what is no tooth.
    """
    kept = []
    units = list(units)
    order = in_arch_order(unit["tooth"] for unit in units)
    for unit in sorted(units, key=lambda unit: order.index(unit["tooth"])):
        kind = unit.get("kind", "")
        clean = {
            "tooth": unit["tooth"],
            "kind": kind,
            "on": "" if kind == "pontic" else unit.get("on", ""),
        }
        if unit.get("piece") is not None and kind != "crown":
            clean["piece"] = int(unit["piece"])
        if kind == "pontic" and unit.get("free"):
            clean["free"] = True
        kept.append(clean)
    return kept
