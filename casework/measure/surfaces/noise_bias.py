"""By how much does what is left of a scan's noise make a least distance too small?

The surfaces, smoothed until next to no noise is left, are taken for the truth; noise of the
size that was smoothed away is put on them, they are smoothed as the scan was, and the least
distance is taken anew. How much it falls on average is the bias, how much it varies the
uncertainty (B. Efron, Bootstrap methods: another look at the jackknife, Annals of Statistics
1979). The noise is white, along the normals of the surface and always the same: so is the
answer.
"""

import numpy as np
from scipy.spatial import cKDTree

from casework.measure.surfaces.gaps import (
    SAMPLE_MM,
    Meeting,
    passes_of,
    signed_distances,
    smoothed_with_noise,
)
from casework.measure.surfaces.nearest import Nearest
from casework.measure.surfaces.normals import vertex_normals
from casework.measure.surfaces.pieces import compacted
from casework.measure.surfaces.sampling import spread
from casework.measure.surfaces.smoothing import smoothed

ROUNDS = 6
SMOOTHER = 4  # times the passes of the scan, for what is taken as the truth
NEAR_SPREADS = 3.0  # smoothing leaves a third of the noise: no place farther becomes least
AROUND_MM = 1.2  # of those places the surface is smoothed anew; its rim is not asked


def noise_bias(meeting: Meeting, least_mm: float) -> tuple[float, float]:
    """Return how far a least distance lies too low, and its standard deviation, both in mm.

    The surfaces that meet are smoothed; one without noise is taken as it is.
    """
    noise = max(one.noise_mm for one in meeting.surfaces)
    if noise == 0.0:
        return 0.0, 0.0
    is_near = meeting.signed_mm[0] <= least_mm + NEAR_SPREADS * noise
    centres = meeting.points[0][is_near]
    parts = [_Part(one, centres) for one in meeting.surfaces] if len(centres) else []
    if not parts or not all(len(part.core_faces) for part in parts):
        return 0.0, 0.0
    random = np.random.default_rng(0)
    truth = _least([part.settled() for part in parts], parts, meeting.reach_mm)
    values = [
        _least([part.renewed(random) for part in parts], parts, meeting.reach_mm)
        for _ in range(ROUNDS)
    ]
    return float(truth - np.mean(values)), float(np.std(values, ddof=1))


class _Part:
    """The piece of a surface around the places where it comes near to the other one."""

    def __init__(self, surface, centres):
        keeps, is_core = _around(surface.vertices, surface.faces, centres)
        used = np.unique(surface.faces[keeps])
        vertices, self.faces = compacted(surface.vertices, surface.faces[keeps])
        self.core = np.flatnonzero(is_core[used])
        self.core_faces = self.faces[is_core[used][self.faces].all(axis=1)]
        self.passes = passes_of(surface) if surface.noise_mm > 0 else 0
        self.vertices = vertices
        if self.passes:
            self.vertices = smoothed(vertices, self.faces, SMOOTHER * self.passes)
        self.normals = vertex_normals(self.vertices, self.faces)
        self.noise_mm = surface.noise_mm

    def settled(self):
        """The vertices smoothed as the scan was."""
        return self._again(self.vertices)

    def renewed(self, random):
        """The vertices with new noise, smoothed as the scan was."""
        amount = random.normal(0.0, self.noise_mm, len(self.vertices))
        return self._again(self.vertices + self.normals * amount[:, None])

    def _again(self, vertices):
        if not self.passes:
            return self.vertices
        return smoothed_with_noise(vertices, self.faces, self.passes)[0]


def _around(vertices, faces, centres):
    """Faces in the neighbourhood of places, and vertices far enough from its rim."""
    away = cKDTree(centres).query(vertices, distance_upper_bound=AROUND_MM)[0]
    return np.isfinite(away)[faces].any(axis=1), away < AROUND_MM / 2


def _least(moved, parts, reach_mm):
    values = []
    for own, other in ((0, 1), (1, 0)):
        grid = Nearest(moved[other], parts[other].faces, reach_mm)
        inner = spread(moved[own], parts[own].core_faces, SAMPLE_MM)[0]
        points = np.vstack([moved[own][parts[own].core], inner])
        values.append(signed_distances(points, grid).min())
    return min(values)
