"""Which class must a material have for the work, and what speaks against the one chosen?

Ceramic classes: ISO 6872:2015 Table 1, from memory; the edition of 2024 keeps classes 1 to 5
with a least flexural strength each. Metal types: ISO 22674, 0.2 % proof stress from a secondary
source, elongation from memory. What the material's own instructions for use say wins, and the
certificate of the lot decides the class, not the name of the material.
"""

from dataclasses import dataclass
from enum import StrEnum


class Family(StrEnum):
    ZIRCONIA = "zirconia"
    LITHIUM_DISILICATE = "lithium disilicate"
    METAL = "metal"
    TITANIUM = "titanium"
    POLYMER = "polymer"


FAMILY_LABELS = {
    Family.ZIRCONIA: "Zirconia",
    Family.LITHIUM_DISILICATE: "Lithium disilicate",
    Family.METAL: "Metal alloy",
    Family.TITANIUM: "Titanium",
    Family.POLYMER: "Polymer",
}
CERAMICS = frozenset({Family.ZIRCONIA, Family.LITHIUM_DISILICATE})
METALS = frozenset({Family.METAL, Family.TITANIUM})

CERAMIC_SOURCE = "ISO 6872:2015 Table 1, from memory"
METAL_SOURCE = "ISO 22674, proof stress from a secondary source"


@dataclass(frozen=True, slots=True)
class CeramicClass:
    number: int
    strength_mpa: int  # least mean flexural strength
    toughness: str  # recommended fracture toughness, MPa·√m
    max_units: int | None  # of one connected piece; None: as many as wanted
    molar_single: bool
    molar_bridge: bool
    indication: str


@dataclass(frozen=True, slots=True)
class MetalType:
    number: int
    proof_stress_mpa: int | None
    elongation_percent: int | None
    use: str


CERAMIC_CLASSES = {
    row.number: row
    for row in (
        CeramicClass(
            1, 50, "0.7", 1, False, False, "single front unit, bonded; veneering layer"
        ),
        CeramicClass(2, 100, "1.0", 1, True, False, "single unit, bonded"),
        CeramicClass(3, 300, "2.0", 3, True, False, "single unit; three units without a molar"),
        CeramicClass(4, 500, "3.5", 3, True, True, "three units with a molar"),
        CeramicClass(5, 800, "5.0", None, True, True, "four units or more"),
    )
}
METAL_TYPES = {
    row.number: row
    for row in (
        MetalType(0, None, None, "small veneered inlays, single veneered crowns"),
        MetalType(1, 80, 18, "inlays of one surface, veneered crowns"),
        MetalType(2, 180, 10, "single crowns and inlays"),
        MetalType(3, 270, 5, "bridges of three units, splinted crowns"),
        MetalType(4, 360, 2, "wide spans, thin sections, bars, work on implants"),
        MetalType(5, 500, 2, "removable partial dentures, parts that need stiffness"),
    )
}


def class_needed(
    unit_count: int, has_molar: bool, *, is_front: bool = False, is_bonded: bool = False
) -> int:
    """The least ISO 6872 class for one connected piece.

    `unit_count` counts retainers, crowns and pontics of the piece. Classes 1 and 2 are for
    bonded single units only, class 1 of those for front teeth.
    """
    if unit_count < 1:
        raise ValueError(f"unit_count is {unit_count}; a piece has at least one unit.")
    if unit_count == 1:
        if not is_bonded:
            return 3
        return 1 if is_front and not has_molar else 2
    if unit_count > 3:
        return 5
    return 4 if has_molar else 3


def type_needed(unit_count: int, *, on_implants: bool = False) -> int:
    """The least ISO 22674 type for one connected piece."""
    if unit_count < 1:
        raise ValueError(f"unit_count is {unit_count}; a piece has at least one unit.")
    if on_implants or unit_count > 3:
        return 4
    return 3 if unit_count > 1 else 2


def class_of_strength(mpa: int) -> int | None:
    """The highest ISO 6872 class whose least flexural strength is reached, or None."""
    reached = [row.number for row in CERAMIC_CLASSES.values() if mpa >= row.strength_mpa]
    return max(reached, default=None)
