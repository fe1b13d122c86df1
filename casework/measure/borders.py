"""Which borders of a scan are holes, and which is only where the scanning ended?"""

from dataclasses import dataclass

import numpy as np

from casework.measure.distances import span_mm
from casework.measure.meshes import Mesh
from casework.measure.results import Measured, Quantity
from casework.measure.surfaces.normals import face_areas
from casework.measure.surfaces.pieces import piece_of_faces
from casework.measure.topology import Edges, edges_of, groups, lengths_of

SCAN_HOLES = Quantity(
    "scan_holes", "holes of a scan, its outer rim not among them", "",
    "borders but for the longest of the main piece, where it spans half of the piece",
)  # fmt: skip
QUANTITIES = (SCAN_HOLES,)

RIM_SHARE = 0.5  # of the main piece's span: what a rim spans at least
LISTED = 50


@dataclass(frozen=True, eq=False)
class Border:
    """Edges of one triangle only that hang together: its vertices' numbers, and where it is."""

    vertices: np.ndarray
    length_mm: float
    span_mm: float
    centre_mm: np.ndarray
    is_rim: bool

    def told(self) -> dict:
        return {
            "length_mm": self.length_mm, "span_mm": self.span_mm, "place_mm": self.centre_mm,
            "is_rim": self.is_rim,
        }  # fmt: skip


def whole_faces(faces: np.ndarray) -> np.ndarray:
    """Return the faces (n, 3) int32 that have three different corners."""
    a, b, c = faces.T
    is_whole = (a != b) & (b != c) & (c != a)
    return np.ascontiguousarray(faces if is_whole.all() else faces[is_whole], np.int32)


def borders_of(vertices: np.ndarray, faces: np.ndarray, edges: Edges) -> list[Border]:
    """Return the borders of a surface, the longest first, and which is its outer rim.

    faces (n, 3) as `whole_faces` returns them, and their edges.

    The rim is the longest border of the piece with the most area, where it spans at least half
    of that piece: so a closed body with a small hole has none.
    """
    if not len(faces):
        return []
    low, high = edges.low[edges.border], edges.high[edges.border]
    group, count = groups(low, high, len(vertices))
    lengths = lengths_of(vertices, low, high)
    of_piece = np.zeros(len(vertices), np.int64)
    piece = piece_of_faces(faces, len(vertices))
    of_piece[faces.ravel()] = np.repeat(piece, 3)
    main = int(np.argmax(np.bincount(piece, face_areas(vertices, faces))))
    in_main = vertices[faces[piece == main]].reshape(-1, 3)
    wide = float(np.linalg.norm(np.ptp(in_main, axis=0)))
    totals = np.bincount(group[low], lengths, count)
    found, has_rim = [], False
    members = np.argsort(group[low], kind="stable")
    starts = np.searchsorted(group[low][members], np.arange(count + 1))
    for one in np.argsort(-totals, kind="stable"):
        mine = members[starts[one] : starts[one + 1]]
        own = np.unique(np.concatenate([low[mine], high[mine]]))
        span = span_mm(vertices[own])
        middles = (vertices[low[mine]] + vertices[high[mine]]) / 2
        centre = np.average(middles, axis=0, weights=np.maximum(lengths[mine], 1e-12))
        is_rim = not has_rim and of_piece[own[0]] == main and span >= RIM_SHARE * wide
        has_rim = has_rim or is_rim
        found.append(Border(own, float(totals[one]), span, centre, bool(is_rim)))
    return found


def holes_of(mesh: Mesh, *, subject: str) -> Measured:
    """Return how many holes a scan has apart from its rim; the details tell each."""
    faces = whole_faces(mesh.faces)
    every = borders_of(mesh.vertices, faces, edges_of(faces, len(mesh.vertices)))
    holes = [one for one in every if not one.is_rim]
    rim = next((one for one in every if one.is_rim), None)
    return SCAN_HOLES.of(
        subject, len(holes), holes[0].centre_mm if holes else None,
        holes=[one.told() for one in holes[:LISTED]], rim=rim and rim.told(),
        longest_mm=holes[0].length_mm if holes else 0.0,
    )  # fmt: skip
