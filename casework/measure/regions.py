"""How sound is a scan where it matters: scan bodies, margins, contacts?"""

from dataclasses import dataclass

import numpy as np
from scipy.spatial import cKDTree

from casework.measure.borders import borders_of, whole_faces
from casework.measure.meshes import Mesh
from casework.measure.noise import NOISE, noise_level, told_noise
from casework.measure.results import Measured, Quantity
from casework.measure.surfaces.nearest import Nearest
from casework.measure.surfaces.normals import vertex_normals
from casework.measure.surfaces.poses import Pose
from casework.measure.surfaces.smoothing import neighbours
from casework.measure.topology import edges_of, lengths_of

METHOD = "regions 1"
EDGE = Quantity(
    "region_edge", "median length of the edges in a region", "mm",
    "distinct edges with their middle in the region",
)  # fmt: skip
HOLES = Quantity(
    "region_hole_count", "holes in a region", "",
    "borders that come into the region, without the outer rim of the scan",
)  # fmt: skip
COVERED = Quantity(
    "region_covered", "share of a region that the scan shows", "",
    "of a line: places with surface within 0.25 mm; of an axis: cells around it with surface",
)  # fmt: skip
REGION_NOISE = Quantity("region_noise", "noise in a region", "µm", NOISE.method)
QUANTITIES = (EDGE, HOLES, COVERED, REGION_NOISE)

ON_LINE_MM = 0.25  # two edges of a scan
LINE_STEP_MM = 0.1
AXIS_STEP_MM, AXIS_TURNS = 0.5, 24  # cells around an axis: 0.5 mm by 15 degrees
LISTED = 50


@dataclass(frozen=True, eq=False)
class Region:
    """A place that matters: `points` (k, 3) mm, within `radius_mm` of which it lies.

    `kind`: "points", "line" (a polyline on the surface, closed if its ends meet), or "axis"
    (two points, from a scan body's foot to its top, with the surface around it).
    """

    name: str
    points: np.ndarray
    radius_mm: float
    kind: str = "points"

    def along(self) -> np.ndarray:
        """The points, those between them on a line or axis too, every 0.1 mm."""
        points = np.atleast_2d(np.asarray(self.points, float))
        if self.kind == "points" or len(points) < 2:
            return points
        rows = []
        for a, b in zip(points[:-1], points[1:], strict=True):
            count = max(int(np.ceil(np.linalg.norm(b - a) / LINE_STEP_MM)), 1)
            rows.append(a + (b - a) * (np.arange(count) / count)[:, None])
        return np.concatenate([*rows, points[-1:]])


def judge_regions(mesh: Mesh, regions: list[Region], *, subject: str) -> list[Measured]:
    """Return edge length, holes, noise and cover of each region, then of the rest of the scan.

    Subjects read "scan at name"; the rest is "scan elsewhere".
    """
    whole = _Whole(mesh)
    results, is_elsewhere = [], np.ones(len(mesh.vertices), bool)
    for region in regions:
        along = region.along()
        inside = np.isfinite(
            cKDTree(along).query(mesh.vertices, distance_upper_bound=region.radius_mm)[0]
        )
        is_elsewhere &= ~inside
        at = f"{subject} at {region.name}"
        results += whole.told(at, inside, along.mean(axis=0))
        results.append(_covered(mesh, region, along, at))
    if regions:
        results += whole.told(f"{subject} elsewhere", is_elsewhere, None)
    return results


class _Whole:
    """What the regions of one scan share."""

    def __init__(self, mesh):
        self.vertices, self.faces = mesh.vertices, whole_faces(mesh.faces)
        edges = edges_of(self.faces, len(mesh.vertices))
        self.low, self.high = edges.low, edges.high
        self.lengths = lengths_of(mesh.vertices, edges.low, edges.high)
        self.borders = borders_of(mesh.vertices, self.faces, edges)
        self.links = neighbours(self.faces, len(mesh.vertices))
        self.normals = vertex_normals(mesh.vertices, self.faces)

    def told(self, at, inside, place):
        return [
            self._edges(at, inside, place),
            self._holes(at, inside),
            self._noise(at, inside, place),
        ]

    def _edges(self, at, inside, place):
        lengths = self.lengths[inside[self.low] & inside[self.high]]
        if not len(lengths):
            return EDGE.not_known(at, "The scan shows nothing there.", place)
        median, p95 = np.quantile(lengths, [0.5, 0.95])
        return EDGE.of(
            at, median, place, p95_mm=p95, longest_mm=lengths.max(), edge_count=len(lengths)
        )

    def _holes(self, at, inside):
        holes = [one for one in self.borders if not one.is_rim and inside[one.vertices].any()]
        rim = any(one.is_rim and inside[one.vertices].any() for one in self.borders)
        return HOLES.of(
            at, len(holes), holes[0].centre_mm if holes else None,
            holes=[one.told() for one in holes[:LISTED]], is_at_outer_rim=rim,
            longest_mm=holes[0].length_mm if holes else 0.0,
        )  # fmt: skip

    def _noise(self, at, inside, place):
        level = noise_level(
            self.vertices, self.faces, inside, normals=self.normals, links=self.links
        )
        return told_noise(REGION_NOISE, at, level, place)


def _covered(mesh, region, along, at):
    if region.kind == "axis":
        return _covered_around(mesh, region, at)
    found = Nearest(mesh.vertices, mesh.faces, ON_LINE_MM).closest(along)
    is_shown = found.is_found & ~found.is_on_border
    gaps = along[~is_shown]
    return COVERED.of(
        at, is_shown.mean(), gaps.mean(axis=0) if len(gaps) else None,
        places=len(along), not_shown_mm=gaps[:: max(1, len(gaps) // LISTED)],
    )  # fmt: skip


def _covered_around(mesh, region, at):
    """The share of the cells around an axis in which a triangle has its middle."""
    foot, top = np.asarray(region.points, float)[[0, -1]]
    height = float(np.linalg.norm(top - foot))
    if not height > 0:
        raise ValueError("an axis has a length")
    middles = mesh.vertices[mesh.faces].mean(axis=1)
    near = np.abs(middles - (foot + top) / 2).max(axis=1) < height / 2 + region.radius_mm
    local = Pose.of(foot, top - foot).to_local(middles[near])
    inside = (np.hypot(local[:, 0], local[:, 1]) <= region.radius_mm) & (
        (local[:, 2] >= 0) & (local[:, 2] < height)
    )
    rows = max(int(np.ceil(height / AXIS_STEP_MM)), 1)
    row = np.minimum((local[inside, 2] / height * rows).astype(int), rows - 1)
    turn = np.arctan2(local[inside, 1], local[inside, 0]) / (2 * np.pi) * AXIS_TURNS
    cells = np.zeros((rows, AXIS_TURNS), bool)
    cells[row, np.floor(turn).astype(int) % AXIS_TURNS] = True
    return COVERED.of(
        at, cells.mean(), (foot + top) / 2, share_by_height=cells.mean(axis=1),
        heights_mm=(np.arange(rows) + 0.5) * height / rows,
    )  # fmt: skip
