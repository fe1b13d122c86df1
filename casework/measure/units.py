"""In which unit was a scan saved, judging by its size?

STL, PLY and OBJ carry no unit. The size of what was scanned is known roughly; a factor that
brings the largest extent into that range is suggested, and a person decides.
"""

from dataclasses import dataclass

UNITS_MM = (
    ("millimetre", 1.0),
    ("metre", 1000.0),
    ("inch", 25.4),
    ("centimetre", 10.0),
    ("micrometre", 0.001),
)
# Largest extent of a scan in millimetres. Common practice, no published source: a dental arch
# with its gingiva is 45 to 90 mm across, a quadrant or a single site 15 to 60 mm long.
RANGES_MM = {"full arch": (45.0, 90.0), "segment": (15.0, 60.0)}


@dataclass(frozen=True)
class UnitSuggestion:
    """A unit that would make the size credible: its name, its millimetres, the size then."""

    unit: str
    factor: float
    largest_extent_mm: float


@dataclass(frozen=True)
class UnitGuess:
    """Whether a largest extent is credible as millimetres, and which units would make it so."""

    kind: str
    largest_extent: float
    range_mm: tuple[float, float]
    is_credible: bool
    suggestions: tuple[UnitSuggestion, ...]

    def sentence(self) -> str:
        """Return the guess as an English sentence that ends in what to do."""
        low, high = self.range_mm
        size = f"The largest size is {self.largest_extent:.4g}"
        wanted = f"for a {self.kind} ({low:g} to {high:g} mm)"
        if self.is_credible:
            return f"{size} mm, credible {wanted}."
        if not self.suggestions:
            return (
                f"{size}: in no usual unit is that credible {wanted}. Check that the right "
                "file was sent and state its unit."
            )
        fitting = " or ".join(
            f"{s.unit} (× {s.factor:g} gives {s.largest_extent_mm:.4g} mm)"
            for s in self.suggestions
        )
        return (
            f"{size}: as millimetres that is not credible {wanted}. The unit may be "
            f"{fitting}: confirm the unit (scale) before anything is measured."
        )


def unit_suggestions(extent, kind: str, ranges_mm=RANGES_MM) -> UnitGuess:
    """Return the UnitGuess for an extent in the file's unit: one number, or three.

    kind: 'full arch' or 'segment' (a key of ranges_mm); another raises ValueError.
    """
    if kind not in ranges_mm:
        raise ValueError(f"kind must be one of {', '.join(ranges_mm)}, not {kind!r}")
    largest = float(max(extent)) if hasattr(extent, "__len__") else float(extent)
    low, high = ranges_mm[kind]
    fitting = tuple(
        UnitSuggestion(unit, factor, largest * factor)
        for unit, factor in UNITS_MM
        if low <= largest * factor <= high
    )
    is_credible = low <= largest <= high
    return UnitGuess(kind, largest, (low, high), is_credible, () if is_credible else fitting)
