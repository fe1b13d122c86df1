"""What does a plane cut out of a body: which outlines, how large, how high and wide?

Neither a closed surface nor one direction of winding is needed, and bodies that overlap count
as one: see `chains` and `outlines`.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from casework.measure.jit import jit
from casework.measure.surfaces.chains import balls, by_place, loops
from casework.measure.surfaces.outlines import (
    centroid,
    distances,
    owners,
    perimeter,
    signed_areas,
    turning,
    united,
)
from casework.measure.surfaces.pieces import compacted

EDGE_FACES = 5000  # whose edges are looked at


@dataclass(frozen=True, eq=False)
class Section:
    """The outlines of a body in a plane.

    `u` and `v` are the directions in the plane, `normal` is u x v; points (k, 2) and starts
    (l + 1,) are the loops in them, material on the left, so that holes run clockwise. `gap_mm`
    is the widest gap of the surface that was bridged, 0 for a closed body; `edge_mm` the size
    of its facets, the median of their shortest edges.
    """

    origin_mm: np.ndarray
    u: np.ndarray
    v: np.ndarray
    points: np.ndarray
    starts: np.ndarray
    gap_mm: float
    edge_mm: float

    @property
    def normal(self) -> np.ndarray:
        return np.cross(self.u, self.v)

    @property
    def is_empty(self) -> bool:
        return len(self.points) == 0

    @cached_property
    def loop_areas(self) -> np.ndarray:
        """Signed area of each loop in mm2 (l,): holes are negative."""
        return signed_areas(self.points, self.starts)

    @property
    def area_mm2(self) -> float:
        return float(self.loop_areas.sum())

    @property
    def facet_error_mm2(self) -> float:
        """About how far the area lies under that of the smooth body that the facets replace.

        A chord of length e misses e² a / 12 of an arc that turns by a (elementary geometry,
        small angles), along the section and as much again across it. Corners of more than 30
        degrees count as corners of the body itself.
        """
        return turning(self.points, self.starts) * self.edge_mm**2 / 6

    @property
    def perimeter_mm(self) -> float:
        return perimeter(self.points, self.starts)

    @property
    def centroid_mm(self) -> np.ndarray | None:
        """Centre of the area (3,), None where nothing is cut."""
        centre = centroid(self.points, self.starts)
        return None if centre is None else self.to_world(centre[None])[0]

    @property
    def loops_mm(self) -> list[np.ndarray]:
        """The loops as points in space, a list of (k, 3)."""
        world = self.to_world(self.points)
        return [world[a:b] for a, b in zip(self.starts, self.starts[1:], strict=False)]

    def to_world(self, points: np.ndarray) -> np.ndarray:
        return self.origin_mm + points[:, :1] * self.u + points[:, 1:] * self.v

    def in_plane(self, place_mm: np.ndarray) -> np.ndarray:
        """Return a place, moved square into the plane, in its directions (2,)."""
        away = np.asarray(place_mm, float) - self.origin_mm
        return np.array([away @ self.u, away @ self.v])

    def extent_mm(self, direction: np.ndarray) -> float:
        """Return from where to where the section reaches along a direction, as a length."""
        along = self.to_world(self.points) @ direction
        return float(along.max() - along.min()) if len(along) else 0.0

    def near(self, place_mm: np.ndarray, reach_mm: float) -> "Section":
        """Return those outlines, holes with them, that surround a place or come near it."""
        x, y = self.in_plane(place_mm)
        away = distances(self.points, self.starts, self.loop_areas, x, y)
        own = owners(self.points, self.starts, self.loop_areas)
        return self._of(np.flatnonzero(away[own] <= reach_mm))

    def around(self, place_mm: np.ndarray) -> "Section":
        """Return the outline, with its holes, that surrounds a place or is nearest to it."""
        x, y = self.in_plane(place_mm)
        away = distances(self.points, self.starts, self.loop_areas, x, y)
        if not len(away) or not np.isfinite(away).any():
            return self._of(np.empty(0, np.int64))
        own = owners(self.points, self.starts, self.loop_areas)
        return self._of(np.flatnonzero(own == np.argmin(away)))

    def _of(self, loops: Iterable[int]) -> "Section":
        parts = [self.points[self.starts[i] : self.starts[i + 1]] for i in loops]
        starts = np.concatenate([[0], np.cumsum([len(part) for part in parts])])
        points = np.concatenate(parts) if parts else np.empty((0, 2))
        return replace(self, points=points, starts=starts.astype(np.int64))


class Sections:
    """The surface of vertices (m, 3) and faces (n, 3), ready to be cut many times."""

    def __init__(self, vertices: np.ndarray, faces: np.ndarray):
        self.vertices = np.ascontiguousarray(vertices, np.float64)
        self.faces = by_place(self.vertices, np.ascontiguousarray(faces, np.int32))
        self._balls = balls(self.vertices, self.faces)

    @cached_property
    def edge_mm(self) -> float:
        """The median of the shortest edges of the faces; 0 without faces."""
        if not len(self.faces):
            return 0.0
        corners = self.vertices[self.faces[:: max(1, len(self.faces) // EDGE_FACES)]]
        edges = np.linalg.norm(corners - np.roll(corners, 1, axis=1), axis=2)
        return float(np.median(edges.min(axis=1)))

    def cut(self, origin_mm, normal, up=None) -> Section:
        """Return the section by the plane through `origin_mm` across `normal`.

        `up` gives the direction of `v`, as far as it lies in the plane. Bodies that overlap or
        touch are cut as one.
        """
        origin, u, v, normal = _plane(origin_mm, normal, up)
        points, starts, gap = loops(
            self.vertices, self.faces, self._balls, origin, normal, u, v
        )
        if signed_areas(points, starts).sum() < 0:  # a body turned inside out
            points, starts = points[::-1].copy(), starts[-1] - starts[::-1]
        points, starts = united(points, starts)
        return Section(origin, u, v, points, starts, float(gap), self.edge_mm)

    def within(self, origin_mm, normal, half_mm: float, tilt_deg: float) -> "Sections":
        """Return the faces that a plane can cut which is shifted and tilted by so much at most.

        Shifted by up to `half_mm` along the normal, tilted about a place on the line along it.
        """
        origin, _, _, normal = _plane(origin_mm, normal, None)
        slope = float(np.tan(np.radians(tilt_deg)))
        keeps = _is_within(self.vertices, self.faces, origin, normal, float(half_mm), slope)
        return Sections(*compacted(self.vertices, self.faces[keeps]))


def _plane(origin_mm, normal, up):
    """Origin and right-handed unit directions u, v, normal."""
    origin, normal = np.array(origin_mm, float), np.array(normal, float)
    length = np.linalg.norm(normal)
    if not length > 0:
        raise ValueError("a plane has a normal")
    normal = normal / length
    v = None if up is None else np.asarray(up, float) - (up @ normal) * normal
    if v is None or np.linalg.norm(v) < 1e-9:
        axis = np.eye(3)[np.argmin(np.abs(normal))]
        v = axis - (axis @ normal) * normal
    v = v / np.linalg.norm(v)
    return origin, np.cross(v, normal), v, normal


@jit
def _is_within(vertices, faces, origin, normal, half, slope):
    along, room = np.empty(len(vertices)), np.empty(len(vertices))
    for i in range(len(vertices)):
        d, square = 0.0, 0.0
        for x in range(3):
            away = vertices[i, x] - origin[x]
            d += away * normal[x]
            square += away * away
        along[i] = d
        room[i] = half + slope * np.sqrt(max(square - d * d, 0.0))
    keeps = np.zeros(len(faces), np.bool_)
    for f in range(len(faces)):
        a, b, c = faces[f, 0], faces[f, 1], faces[f, 2]
        most = max(room[a], room[b], room[c])
        keeps[f] = (
            min(along[a], along[b], along[c]) <= most
            and max(along[a], along[b], along[c]) >= -most
        )
    return keeps
