"""How far are two surfaces apart, where, and where does one lie in the other?"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from scipy.spatial import cKDTree

from casework.measure.jit import jit
from casework.measure.surfaces.nearest import Nearest
from casework.measure.surfaces.normals import face_areas, face_normals, vertex_normals
from casework.measure.surfaces.pieces import compacted, main_pieces
from casework.measure.surfaces.sampling import spread
from casework.measure.surfaces.smoothing import smoothed

SAMPLE_MM = 0.3  # a surface of larger triangles is asked at points so far apart
SMOOTH_MM = 0.8  # noise is taken off over at most so much of a scan; a cusp is wider
PASSES_A_SQUARE = 1.6  # of edge lengths: n passes smooth over the root of 1.6 n edges
MOST_PASSES = 11  # leave a third of the noise
MOST_MOVED_MM = 0.1  # what smoothing would move farther is form, not noise
LEAST_NOISE_MM = 0.004  # what takes less off a surface takes form, not noise
FAR_POINTS = 4000  # of each surface, enough to find where far surfaces come nearest
TURNS = 40  # of going to and fro between two surfaces at most
STILL_MM = 1e-7
MOST_CELLS_A_SIDE = 250
FACING_COSINE = 0.0  # surfaces that face each other have normals against each other


@dataclass(frozen=True, eq=False)
class Surface:
    """A surface without islands, as it is and with its noise taken off.

    `dropped` tells the islands left out; `noise_mm` is the standard deviation of what was
    smoothed away, 0 where nothing was.
    """

    raw: np.ndarray
    vertices: np.ndarray
    faces: np.ndarray
    noise_mm: float
    dropped: list[dict]

    @cached_property
    def samples(self):
        """Points (k, 3) that stand for equal parts of their faces, their faces, areas (k,)."""
        points, face = spread(self.vertices, self.faces, SAMPLE_MM)
        share = face_areas(self.vertices, self.faces) / np.maximum(
            np.bincount(face, minlength=len(self.faces)), 1
        )
        return points, face, share[face]

    def near(self, other: "Surface", reach_mm: float) -> "Surface":
        """Return the faces that may lie within a reach of another surface."""
        keeps = _is_near(self, other, reach_mm)
        if keeps.all():
            return self
        used = np.unique(self.faces[keeps])
        vertices, faces = compacted(self.vertices, self.faces[keeps])
        return Surface(self.raw[used], vertices, faces, self.noise_mm, self.dropped)


def scan_surface(vertices: np.ndarray, faces: np.ndarray) -> Surface:
    """Return a scan without islands, to be smoothed where it is wanted."""
    vertices, faces, dropped = main_pieces(vertices, faces)
    vertices = np.ascontiguousarray(vertices, np.float64)
    return Surface(vertices, vertices, np.ascontiguousarray(faces, np.int32), 0.0, dropped)


def design_surface(vertices: np.ndarray, faces: np.ndarray) -> Surface:
    """Return a design as it is: it has no noise, and every piece of it counts."""
    vertices = np.ascontiguousarray(vertices, np.float64)
    return Surface(vertices, vertices, np.ascontiguousarray(faces, np.int32), 0.0, [])


def without_noise(surface: Surface) -> Surface:
    """Return the surface lightly smoothed; a model and large triangles come back as they are.

    Smoothing leaves a part of the noise. How much shows by smoothing once more with noise of
    known size put on.
    """
    passes = passes_of(surface)
    if passes < 1:
        return surface
    vertices, taken = smoothed_with_noise(surface.raw, surface.faces, passes)
    if taken < LEAST_NOISE_MM:
        return surface
    amount = np.random.default_rng(0).normal(0.0, taken, len(vertices))
    noisy = vertices + vertex_normals(vertices, surface.faces) * amount[:, None]
    again = smoothed_with_noise(noisy, surface.faces, passes)[1]
    noise = taken * taken / max(again, 0.3 * taken)
    return Surface(surface.raw, vertices, surface.faces, noise, surface.dropped)


def passes_of(surface):
    if not len(surface.faces):
        return 0
    a, b = surface.raw[surface.faces[:, 0]], surface.raw[surface.faces[:, 1]]
    edge = float(np.median(np.linalg.norm(b - a, axis=1)))
    return min(round((SMOOTH_MM / max(edge, 1e-6)) ** 2 / PASSES_A_SQUARE), MOST_PASSES)


def smoothed_with_noise(raw, faces, passes):
    """Smoothed vertices, and the standard deviation of what was taken off along the normals."""
    vertices = smoothed(raw, faces, passes)
    normals = vertex_normals(vertices, faces)
    moved = np.abs(np.einsum("ij,ij->i", vertices - raw, normals))
    noise = float(np.median(moved)) / 0.6745  # half of all lie within that share of it
    is_form = moved > max(MOST_MOVED_MM, 5 * noise)
    vertices[is_form] = raw[is_form]
    return vertices, noise


@dataclass(frozen=True, eq=False)
class Gap:
    """Distances from points of one surface to another within a reach, negative inside it.

    points (k, 3), face (k,) and area (k,) of the first surface; signed_mm (k,), inf beyond the
    reach; is_facing (k,): do the surfaces face each other there?
    """

    points: np.ndarray
    face: np.ndarray
    area: np.ndarray
    signed_mm: np.ndarray
    is_facing: np.ndarray

    @property
    def is_overlap(self) -> np.ndarray:
        return (self.signed_mm < 0) & self.is_facing


class Meeting:
    """Two surfaces asked for their distance from each other within a reach, both ways."""

    def __init__(self, first: Surface, second: Surface, reach_mm: float):
        self.surfaces = first, second
        self.reach_mm = reach_mm
        self.grids = tuple(Nearest(one.vertices, one.faces, reach_mm) for one in self.surfaces)
        self.points = tuple(np.vstack([one.vertices, one.samples[0]]) for one in self.surfaces)
        self.found = tuple(
            grid.closest(points)
            for grid, points in zip(self.grids[::-1], self.points, strict=True)
        )
        self.signed_mm = tuple(_signed(found) for found in self.found)

    @cached_property
    def gap(self) -> Gap:
        """Distances of the first surface's samples to the second."""
        first = self.surfaces[0]
        points, face, area = first.samples
        own = face_normals(first.vertices, first.faces)[face]
        theirs = self.found[0].normals()[len(first.vertices) :]
        is_facing = np.einsum("ij,ij->i", own, theirs) < FACING_COSINE
        is_facing &= self.found[0].is_found[len(first.vertices) :]
        return Gap(points, face, area, self.signed_mm[0][len(first.vertices) :], is_facing)

    def least(self) -> tuple[float, np.ndarray, np.ndarray] | None:
        """Return the least signed distance and the places of it on both surfaces (3,).

        Negative is the greatest depth at which a point of one lies in the other. None where no
        point of one comes within the reach of the other. From the nearest of the points the way
        leads to and fro until it gets no shorter.
        """
        ways = [(float(one.min(initial=np.inf)), k) for k, one in enumerate(self.signed_mm)]
        distance, way = min(ways)
        if not np.isfinite(distance):
            return None
        at = int(np.argmin(self.signed_mm[way]))
        ends = self.points[way][at], self.found[way].point_mm[at]
        best = (distance, *(ends[::-1] if way else ends))
        return best if distance <= 0 else _to_and_fro(best, self.grids)


def signed_distances(points: np.ndarray, surface: Nearest) -> np.ndarray:
    """Return distances (k,), negative inside, inf beyond; beside a border never negative."""
    return _signed(surface.closest(points))


def _signed(found):
    # Beyond the border of an open surface there is no inside.
    return np.where(found.is_on_border, found.distance_mm, found.signed_mm)


def far_distance(first: Surface, second: Surface) -> tuple[float, np.ndarray, np.ndarray]:
    """Return the distance of two surfaces however far apart, and the places of it."""
    points = [_some(one.samples[0]) for one in (first, second)]
    away, near = cKDTree(points[1]).query(points[0])
    at = int(np.argmin(away))
    reach = float(away[at]) * 1.001 + 1e-6
    grids = tuple(Nearest(one.vertices, one.faces, reach) for one in (first, second))
    return _to_and_fro((float(away[at]), points[0][at], points[1][near[at]]), grids)


def _to_and_fro(best, grids):
    distance, here, there = best
    for _ in range(TURNS):
        before = distance
        for turned, grid in ((True, grids[1]), (False, grids[0])):
            found = grid.closest((here if turned else there)[None])
            if not found.is_found[0]:
                continue
            distance = float(found.distance_mm[0])
            if turned:
                there = found.point_mm[0]
            else:
                here = found.point_mm[0]
        if before - distance < STILL_MM:
            break
    return distance, here, there


def _some(points):
    step = max(1, len(points) // FAR_POINTS)
    return points[::step]


def _is_near(surface, other, reach_mm):
    """Which faces have their bounds in cells at or beside those of the other's faces?"""
    low, high = other.vertices.min(axis=0), other.vertices.max(axis=0)
    cell = max(reach_mm, float((high - low).max()) / MOST_CELLS_A_SIDE)
    filled = np.zeros(np.floor((high - low) / cell).astype(np.int64) + 3, np.bool_)
    _fill(other.vertices, other.faces, low, cell, filled)
    for axis in range(3):
        filled = filled | np.roll(filled, 1, axis) | np.roll(filled, -1, axis)
    return _meets(surface.vertices, surface.faces, low, cell, filled)


@jit
def _cells(vertices, faces, f, low, cell, sides, bounds):
    """First and last cell of a face along each axis, within the grid and its border."""
    for x in range(3):
        a, b, c = vertices[faces[f, 0], x], vertices[faces[f, 1], x], vertices[faces[f, 2], x]
        first = np.floor((min(a, b, c) - low[x]) / cell) + 1
        last = np.floor((max(a, b, c) - low[x]) / cell) + 1
        bounds[x, 0] = np.int64(max(first, 0.0))
        bounds[x, 1] = np.int64(min(last, sides[x] - 1.0))


@jit
def _fill(vertices, faces, low, cell, filled):
    bounds = np.empty((3, 2), np.int64)
    for f in range(len(faces)):
        _cells(vertices, faces, f, low, cell, filled.shape, bounds)
        for i in range(bounds[0, 0], bounds[0, 1] + 1):
            for j in range(bounds[1, 0], bounds[1, 1] + 1):
                for k in range(bounds[2, 0], bounds[2, 1] + 1):
                    filled[i, j, k] = True


@jit
def _meets(vertices, faces, low, cell, filled):
    bounds = np.empty((3, 2), np.int64)
    meets = np.zeros(len(faces), np.bool_)
    for f in range(len(faces)):
        _cells(vertices, faces, f, low, cell, filled.shape, bounds)
        for i in range(bounds[0, 0], bounds[0, 1] + 1):
            for j in range(bounds[1, 0], bounds[1, 1] + 1):
                for k in range(bounds[2, 0], bounds[2, 1] + 1):
                    if filled[i, j, k]:
                        meets[f] = True
    return meets
