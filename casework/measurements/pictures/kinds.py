"""Which sections and which coloured lengths are drawn of a design, showing which values?"""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Cut:
    """A kind of section along an implant: words in the names of what it shows; with scans?"""

    title: str
    words: tuple[str, ...]
    with_scans: bool = False


# A quantity is shown by the first that has a word of its name.
CUTS = (
    Cut("least wall", ("wall", "thickness", "ceramic_room")),
    Cut("screw and driver", ("screw", "seat", "channel", "driver", "head")),
    Cut("room", ("room",), with_scans=True),
)


@dataclass(frozen=True, slots=True)
class Field:
    """A length by which a restoration is coloured, and the quantities judged by it."""

    name: str
    title: str
    light_mm: float
    dark_mm: float
    quantities: tuple[str, ...]
    is_from_below: bool = False


FIELDS = (
    Field("wall", "Wall thickness", 1.5, 0.0, ("wall_thickness",), is_from_below=True),
    Field("thickness", "Thickness", 3.0, 0.0, ("local_thickness",)),
    Field(
        "gap",
        "Gap to the abutments",
        0.0,
        0.2,
        ("marginal_gap", "least_gap"),
        is_from_below=True,
    ),
    Field("clearance", "Clearance to the opposing jaw", 1.0, -0.1, ("clearance",)),
)


def cut_of(quantity: str) -> Cut | None:
    """Return the kind of section that shows a quantity."""
    return next((cut for cut in CUTS if any(word in quantity for word in cut.words)), None)
