"""What of a scan takes part in the search for scan bodies: places, normals, areas?"""

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from casework.measure.jit import jit
from casework.measure.noise import NoiseLevel, noise_level
from casework.measure.surfaces.normals import vertex_normals
from casework.measure.surfaces.pieces import main_pieces
from casework.measure.surfaces.smoothing import neighbours
from casework.measure.surfaces.thinning import evenly

LEAST_SHARE = 0.002  # of the scan's area: a body may be a piece of its own
SMOOTH_MM = 0.3  # normals are smoothed over so far
MOST_PASSES = 12


@dataclass(frozen=True, eq=False)
class Scan:
    """A scan made ready: vertices (m, 3), smoothed normals (m, 3), area of each in mm2 (m,)."""

    vertices: np.ndarray
    normals: np.ndarray
    areas: np.ndarray
    dropped: list
    surface: "Surface"  # that its vertices are of
    numbers: np.ndarray  # of its vertices there

    @cached_property
    def edge_mm(self) -> float:
        """How long an edge is around its vertices; infinite where nothing tells."""
        return float(np.sqrt(np.median(self.areas))) if len(self.areas) else np.inf

    @cached_property
    def noise_mm(self) -> float:
        """The noise of the surface around its vertices; infinite where nothing tells it."""
        level = self.surface.noise_around(self.numbers)
        return np.inf if level is None else level.sigma_um / 1000

    def near(self, point_mm, axis, across_mm, along_mm) -> np.ndarray:
        """Return the numbers of the vertices within a cylinder around a line."""
        return near_line(self.vertices, point_mm, axis, across_mm, along_mm)

    def thinned(self, most: int) -> "Scan":
        """Return at most about so many of its vertices, each standing for several."""
        chosen = evenly(len(self.vertices), most)
        few = self.only(chosen)
        each = len(self.vertices) / max(len(chosen), 1)
        return replace(few, areas=few.areas * each)

    def only(self, chosen) -> "Scan":
        return Scan(
            self.vertices[chosen], self.normals[chosen], self.areas[chosen], self.dropped,
            self.surface, self.numbers[chosen],
        )  # fmt: skip


@dataclass(frozen=True, eq=False)
class Surface:
    """A scan's whole surface: vertices (m, 3), faces (n, 3), its normals, what is linked."""

    vertices: np.ndarray
    faces: np.ndarray
    normals: np.ndarray
    links: tuple

    def noise_around(self, numbers: np.ndarray) -> NoiseLevel | None:
        """Return the noise around vertices of these numbers."""
        chosen = np.zeros(len(self.vertices), bool)
        chosen[numbers] = True
        return noise_level(
            self.vertices, self.faces, chosen, normals=self.normals, links=self.links
        )


def prepared(vertices: np.ndarray, faces: np.ndarray) -> Scan:
    """Return a scan in mm without its smallest pieces and with smoothed normals."""
    vertices, faces, dropped = main_pieces(vertices, faces, LEAST_SHARE)
    # Copies: loops are compiled anew for arrays that may not be written.
    vertices = np.array(vertices, np.float64, order="C")
    faces = np.array(faces, np.int32, order="C")
    areas = _areas(vertices, faces)
    normals = vertex_normals(vertices, faces)
    edge = np.sqrt(2 * areas.mean()) if len(areas) else 1.0
    passes = int(np.clip(round(1.5 * (SMOOTH_MM / max(edge, 1e-3)) ** 2), 1, MOST_PASSES))
    links = neighbours(faces, len(vertices))
    surface = Surface(vertices, faces, normals, links)
    for _turn in range(passes):
        normals = _averaged(normals, *links[:2])
    return Scan(vertices, normals, areas, dropped, surface, np.arange(len(vertices)))


@jit
def _areas(vertices, faces):
    """A third of the faces around each vertex."""
    areas = np.zeros(len(vertices))
    for f in range(len(faces)):
        a, b, c = vertices[faces[f, 0]], vertices[faces[f, 1]], vertices[faces[f, 2]]
        ux, uy, uz = b[0] - a[0], b[1] - a[1], b[2] - a[2]
        vx, vy, vz = c[0] - a[0], c[1] - a[1], c[2] - a[2]
        x, y, z = uy * vz - uz * vy, uz * vx - ux * vz, ux * vy - uy * vx
        share = np.sqrt(x * x + y * y + z * z) / 6.0
        for k in range(3):
            areas[faces[f, k]] += share
    return areas


@jit
def near_line(points, point, axis, across, along):
    """Return the numbers of points (k, 3) in a cylinder around a line.

    It reaches `across` from the axis (3,), and `along` it to both sides of a point (3,).
    """
    found = np.empty(len(points), np.int64)
    count = 0
    for k in range(len(points)):
        x, y, z = points[k, 0] - point[0], points[k, 1] - point[1], points[k, 2] - point[2]
        w = x * axis[0] + y * axis[1] + z * axis[2]
        if abs(w) < along and x * x + y * y + z * z - w * w < across * across:
            found[count] = k
            count += 1
    return found[:count].copy()


@jit
def near_point(points, point, reach):
    """Return the numbers of points (k, 3) within a ball around a point (3,)."""
    found = np.empty(len(points), np.int64)
    count = 0
    for k in range(len(points)):
        x, y, z = points[k, 0] - point[0], points[k, 1] - point[1], points[k, 2] - point[2]
        if x * x + y * y + z * z < reach * reach:
            found[count] = k
            count += 1
    return found[:count].copy()


@jit
def _averaged(normals, starts, others):
    out = np.zeros_like(normals)
    for v in range(len(normals)):
        x, y, z = normals[v, 0], normals[v, 1], normals[v, 2]
        for k in range(starts[v], starts[v + 1]):
            o = others[k]
            x += normals[o, 0]
            y += normals[o, 1]
            z += normals[o, 2]
        length = np.sqrt(x * x + y * y + z * z)
        if length > 0:
            out[v, 0], out[v, 1], out[v, 2] = x / length, y / length, z / length
    return out
