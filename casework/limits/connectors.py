"""How large must a connector be, by material, region and span?

No standard fixes these figures. They are ranges that instructions of materials print, from
memory; papers give directions only. What the instructions of the actual material say wins.
A span that no row covers has no known limit, and none is guessed from its neighbours.
"""

from dataclasses import dataclass
from decimal import Decimal

from casework.limits.kinds import NO_SOURCE

FRONT, BACK, ANYWHERE, PREMOLAR = "anterior", "posterior", "any", "premolar"
METALS = ("metal", "titanium")
_TESTED = "9 and 12 tested in Hafezeqoran A et al. 2020;14(4):218-222"
_LARSSON = "height of 4.0 mm for long spans or molars, Larsson 2007, from memory"


@dataclass(frozen=True, slots=True)
class ConnectorLimit:
    """Least area, with the range in which it is printed, and least height of a connector.

    `classes` of ISO 6872 or ISO 22674 for which it holds, empty for any. `region` "anterior",
    "premolar", "posterior" (premolars and molars) or "any". `pontics` up to which it holds:
    between two retainers, or of a cantilever those that hang.
    """

    families: tuple[str, ...]
    classes: tuple[int, ...]
    region: str
    pontics: int
    is_cantilever: bool
    area_mm2: Decimal
    low_mm2: Decimal
    high_mm2: Decimal
    height_mm: Decimal
    source: str


def _row(families, classes, region, pontics, is_cantilever, *figures):
    area, low, high, height, *basis = figures
    return ConnectorLimit(
        families, classes, region, pontics, is_cantilever,
        Decimal(area), Decimal(low), Decimal(high), Decimal(height),
        "; ".join([NO_SOURCE, *basis]),
    )  # fmt: skip


_ZIRCONIA, _DISILICATE, _POLYMER = ("zirconia",), ("lithium disilicate",), ("polymer",)

CONNECTORS = (
    _row(_ZIRCONIA, (5,), FRONT, 0, False, "7", "6", "9", "3.0"),
    _row(_ZIRCONIA, (5,), FRONT, 1, False, "7", "6", "9", "3.0"),
    _row(_ZIRCONIA, (5,), FRONT, 2, False, "9", "7", "12", "3.5"),
    _row(_ZIRCONIA, (5,), BACK, 0, False, "9", "6", "12", "3.0"),
    _row(_ZIRCONIA, (5,), BACK, 1, False, "9", "9", "12", "3.0", _TESTED),
    _row(_ZIRCONIA, (5,), BACK, 2, False, "12", "9", "16", "4.0", _LARSSON),
    _row(_ZIRCONIA, (5,), ANYWHERE, 1, True, "12", "9", "16", "4.0",
         "one hanging unit of a premolar's width"),
    _row(_ZIRCONIA, (4,), FRONT, 1, False, "12", "9", "12", "3.5", "three units at most"),
    _row(_ZIRCONIA, (4,), BACK, 1, False, "14", "12", "16", "4.0", "three units at most"),
    _row(_DISILICATE, (), FRONT, 1, False, "16", "12", "16", "4.0",
         "9, 12 and 16 tested; pontic at most 11 mm wide, from memory"),
    _row(_DISILICATE, (), PREMOLAR, 1, False, "16", "16", "16", "4.0",
         "pontic at most 9 mm wide, from memory; not for molars"),
    _row(METALS, (4, 5), FRONT, 2, False, "6.25", "4", "9", "2.5"),
    _row(METALS, (4, 5), BACK, 2, False, "9", "6.25", "12", "3.0"),
    _row(_POLYMER, (), FRONT, 2, False, "12", "9", "16", "4.0", "weak evidence"),
)  # fmt: skip


def connector_limit(
    family: str, strength_class: int | None, region: str, pontics: int, is_cantilever: bool
) -> ConnectorLimit | None:
    """The row for a connector, None where no limit is known.

    `region` is "anterior", "premolar" or "molar"; `pontics` those of the stretch without
    retainer in which the connector stands. Of several rows that with the fewest pontics holds.
    """
    rows = [
        row
        for row in CONNECTORS
        if family in row.families
        and (not row.classes or strength_class in row.classes)
        and _covers(row.region, region)
        and row.is_cantilever == is_cantilever
        and pontics <= row.pontics
    ]
    return min(rows, key=lambda row: row.pontics, default=None)


def _covers(rows_region, region):
    if rows_region == BACK:
        return region in (PREMOLAR, "molar")
    return rows_region in (ANYWHERE, region)
