"""Which few points, spread by area, stand for a whole surface?"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from casework.measure.surfaces.normals import face_normals
from casework.measure.surfaces.poses import Rigid

DENSE = 14_000  # 0.6 mm apart on a full arch


@dataclass(frozen=True, eq=False)
class Cloud:
    """Points strewn evenly over a surface, with their normals; `size_mm` its diagonal."""

    points: np.ndarray
    normals: np.ndarray
    size_mm: float
    area_mm2: float

    @classmethod
    def of(cls, vertices, faces, areas_mm2, count: int = DENSE) -> "Cloud":
        points, face = strewn(vertices, faces, areas_mm2, count)
        normals = face_normals(vertices, faces[face])
        size = float(np.linalg.norm(np.ptp(points, axis=0))) if len(points) else 0.0
        return cls(points, normals, size, float(areas_mm2.sum()))

    def kept(self, is_kept: np.ndarray) -> "Cloud":
        """Return the cloud with fewer points (k,) bool; what stands for a surface's part."""
        points = self.points[is_kept]
        size = float(np.linalg.norm(np.ptp(points, axis=0))) if len(points) else 0.0
        area = self.area_mm2 * len(points) / max(len(self.points), 1)
        return Cloud(points, self.normals[is_kept], size, area)

    def moved(self, rigid: Rigid) -> "Cloud":
        """Return the cloud moved or mirrored; its normals stay on the outer side."""
        return Cloud(
            rigid.apply(self.points), rigid.turn(self.normals), self.size_mm, self.area_mm2
        )

    def thinned(self, count: int) -> "Cloud":
        """Return about so many of the points, evenly in their order."""
        if len(self.points) <= count:
            return self
        chosen = (np.arange(count) * (len(self.points) / count)).astype(np.int64)
        return Cloud(self.points[chosen], self.normals[chosen], self.size_mm, self.area_mm2)

    def turned_over(self) -> "Cloud":
        """Return the cloud with its other side out."""
        return Cloud(self.points, -self.normals, self.size_mm, self.area_mm2)

    @cached_property
    def centre_mm(self) -> np.ndarray:
        return self.points.mean(axis=0)

    @cached_property
    def moments(self) -> tuple[np.ndarray, np.ndarray]:
        """Principal second moments, ascending, and their axes as columns."""
        off = self.points - self.centre_mm
        return np.linalg.eigh(off.T @ off / len(off))


def strewn(vertices: np.ndarray, faces: np.ndarray, areas_mm2: np.ndarray, count: int):
    """Return points spread by area over a surface: points (k, 3), the face of each (k,).

    Always the same for the same surface; each stands for an equal area.
    """
    ends = np.cumsum(areas_mm2)
    if not len(ends) or not ends[-1] > 0:
        return np.zeros((0, 3)), np.zeros(0, np.int64)
    step = np.arange(count)
    face = np.searchsorted(ends, (step + 0.5) * (ends[-1] / count), side="right")
    face = np.minimum(face, len(faces) - 1)
    # A sequence with low discrepancy in two dimensions (powers of the plastic number).
    u, v = (0.7548776662466927 * step) % 1.0, (0.5698402909980532 * step) % 1.0
    over = u + v > 1.0
    u, v = np.where(over, 1.0 - u, u), np.where(over, 1.0 - v, v)
    a, b, c = (vertices[faces[face, k]] for k in range(3))
    return a + u[:, None] * (b - a) + v[:, None] * (c - a), face
