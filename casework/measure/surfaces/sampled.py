"""What is worked out once of a surface that is compared with another?"""

from functools import cached_property

import numpy as np

from casework.measure.noise import noise_level
from casework.measure.surfaces.clouds import Cloud
from casework.measure.surfaces.nearest import Nearest
from casework.measure.surfaces.smoothing import neighbours
from casework.measure.topology import scan_faces

REACH_MM, REACH_SHARE = 1.0, 0.03  # within which a fit begins; the share is of the size


class Sampled:
    """Vertices (m, 3) and faces (n, 3) with what is worked out of them once."""

    def __init__(self, vertices: np.ndarray, faces: np.ndarray):
        self.vertices = np.ascontiguousarray(vertices, np.float64)
        self.faces = np.ascontiguousarray(faces, np.int32)

    @cached_property
    def areas_mm2(self) -> np.ndarray:
        return scan_faces(self.vertices, self.faces, np.zeros(3))[1]

    def part(self, keeps: np.ndarray) -> "Sampled":
        """Return the surface with fewer faces (n,) bool and all its vertices."""
        part = Sampled(self.vertices, self.faces[keeps])
        part.areas_mm2 = self.areas_mm2[keeps]
        return part

    @cached_property
    def links(self) -> tuple:
        """Neighbours of each vertex, as `neighbours` returns them."""
        return neighbours(self.faces, len(self.vertices))

    @cached_property
    def cloud(self) -> Cloud:
        return Cloud.of(self.vertices, self.faces, self.areas_mm2)

    @cached_property
    def reach_mm(self) -> float:
        """Within which another surface is looked for."""
        return max(min(REACH_MM, REACH_SHARE * self.cloud.size_mm), 1e-9)

    @cached_property
    def nearest(self) -> Nearest:
        return Nearest(self.vertices, self.faces, self.reach_mm)

    @cached_property
    def noise_mm(self) -> float:
        level = noise_level(
            self.vertices, self.faces, normals=self.nearest.vertex_normals, links=self.links
        )
        return 0.0 if level is None else level.sigma_um / 1000.0

    @property
    def is_empty(self) -> bool:
        return not len(self.cloud.points) or not self.cloud.size_mm > 0
