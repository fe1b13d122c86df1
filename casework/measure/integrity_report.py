"""What does the integrity report on a surface hold?"""

from dataclasses import asdict, dataclass
from typing import Any, NamedTuple

from casework.measure.faults import Note
from casework.measure.units import UnitGuess


class EdgeLengths(NamedTuple):
    """Lengths of the distinct edges in millimetres."""

    median: float
    p95: float
    max: float


@dataclass(frozen=True)
class Hole:
    """A border: edges of one triangle only that hang together through their vertices."""

    edge_count: int
    length_mm: float
    span_mm: float
    centre_mm: tuple[float, float, float]


@dataclass(frozen=True)
class Island:
    """A piece: triangles that hang together through their vertices."""

    triangle_count: int
    area_mm2: float
    extents_mm: tuple[float, float, float]
    centre_mm: tuple[float, float, float]


@dataclass(frozen=True)
class Integrity:
    """The report on one surface; docs/measures.md defines each word.

    triangles, area, volume, holes and edges are those left without duplicates and triangles
    without area. holes and islands describe the largest, the counts are of all.
    """

    method: str
    format: str
    triangles_in_file: int
    triangles: int
    vertices: int
    extents_mm: tuple[float, float, float]
    bounds_mm: tuple[tuple[float, float, float], tuple[float, float, float]]
    hole_count: int
    holes: tuple[Hole, ...]
    border_edges: int
    island_count: int
    islands: tuple[Island, ...]
    smallest_island_triangles: int
    non_manifold_edges: int
    duplicate_triangles: int
    degenerate_triangles: int
    turned_triangles: int
    is_closed: bool
    is_orientable: bool
    is_consistently_wound: bool
    is_inside_out: bool | None
    inside_out_islands: int
    edge_length_mm: EdgeLengths | None
    area_mm2: float
    volume_mm3: float | None
    no_volume_because: str
    has_colour: bool
    unit: UnitGuess | None
    notes: tuple[Note, ...]

    def as_dict(self) -> dict[str, Any]:
        """Return the report for JSON: plain numbers, lists and texts, units in the keys."""
        plain = {
            key: value
            for key, value in vars(self).items()
            if key not in ("notes", "unit", "holes", "islands", "edge_length_mm")
        }
        lengths = self.edge_length_mm
        return {
            **plain,
            "extents_mm": list(self.extents_mm),
            "bounds_mm": [list(corner) for corner in self.bounds_mm],
            "holes": [_listed(asdict(hole)) for hole in self.holes],
            "islands": [_listed(asdict(island)) for island in self.islands],
            "edge_length_mm": lengths and lengths._asdict(),
            "unit": self.unit
            and {**_listed(asdict(self.unit)), "sentence": self.unit.sentence()},
            "notes": [one.as_dict() for one in self.notes],
        }


def _listed(row):
    return {
        key: list(value) if isinstance(value, tuple) else value for key, value in row.items()
    }
