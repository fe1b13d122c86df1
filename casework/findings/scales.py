"""Which limits are drawn on the scales of a design's pictures?"""

from collections.abc import Callable, Mapping

from casework.checks import in_unit
from casework.checks.walls_sufficient import AXIAL, OCCLUSAL, wall_limit

GAP, RELIEF = "margin_gap_max", "implant_mip_relief"


def limits_drawn(material: Mapping | None, limits: Callable) -> dict[str, list]:
    """Return by the name of a coloured length its limits, words and mm each.

    `material` as the fact `measured` tells that of a restoration; `limits` from a limit's name
    to the one in force. Whether a limit is kept or not makes no difference.
    """
    kinds = {kind: wall_limit(material, kind, limits) for kind in (OCCLUSAL, AXIAL)}
    walls = [(kind, _mm(one, one.value)) for kind, one in kinds.items() if one is not None]
    gap, relief = limits(GAP), limits(RELIEF)
    return {
        "wall": walls,
        "thickness": walls,
        "gap": [("margin", _mm(gap, gap.value))],
        "clearance": [
            ("contact", _mm(relief, relief.low)),
            ("relief", _mm(relief, relief.high)),
        ],
    }


def _mm(limit, value):
    return float(in_unit(value, limit.unit, "mm"))
