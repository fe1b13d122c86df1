"""Which outline has a screw on its seat, and the driver on it, as far as they are told?"""

from collections.abc import Mapping


def screw_outline(screw: Mapping) -> list[tuple[float, float]]:
    """Return the outline of a screw on its seat, heights above the platform; [] if not told."""
    try:
        head, shank = screw["head_diameter_mm"] / 2, screw["shank_diameter_mm"] / 2
        seat, tall = screw["seat_height_mm"], screw["head_height_mm"]
        low = seat - screw["length_mm"] + tall
    except KeyError:
        return []
    return [(shank, low), (shank, seat), (head, seat), (head, seat + tall)]


def driver_outline(dimensions: Mapping) -> list[tuple[float, float]]:
    """Return the outline of the driver that stands on the screw's head; [] if not told."""
    screw, driver = dimensions.get("screw", {}), dimensions.get("driver", {})
    try:
        top = screw["seat_height_mm"] + screw["head_height_mm"]
        shank, length = driver["shank_diameter_mm"] / 2, driver["shank_length_mm"]
    except KeyError:
        return []
    return [(shank, top), (shank, top + length)]
