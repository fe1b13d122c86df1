"""How is a scanner's noise taken off values on a surface, and how much of it stays?"""

import numpy as np

from casework.measure.jit import jit
from casework.measure.surfaces.sampled import Sampled

SMOOTH_MM = 0.45  # noise is taken off a field over so much
PASSES_A_SQUARE = 1.6  # of edge lengths, as for surfaces: n passes smooth over √(1.6 n) edges
MOST_PASSES = 30
INWARD, OUTWARD = 0.5, -0.53  # as for surfaces
GAIN_CORNERS = 30_000
LEAST_NOISE_MM = 0.001  # a field without noise is left as it is


def without_noise(field: np.ndarray, own: Sampled, edge_mm: float) -> tuple[np.ndarray, float]:
    """Return a field (m,) mm smoothed over 0.45 mm, and the noise left in it (mm).

    nan stays nan and takes no part. A field without noise comes back as it is.
    """
    noise = _noise(field, *own.links[:2])
    if noise <= LEAST_NOISE_MM:
        return field, noise
    passes = int(np.clip(round((SMOOTH_MM / edge_mm) ** 2 / PASSES_A_SQUARE), 1, MOST_PASSES))
    return _smoothed(field, *own.links[:2], passes), noise * _gain(own, passes)


def median_edge_mm(vertices: np.ndarray, faces: np.ndarray) -> float:
    """Return the median length of the first edges of the faces, of some where many."""
    some = faces[:: max(1, len(faces) // 20_000)]
    edges = np.linalg.norm(vertices[some[:, 1]] - vertices[some[:, 0]], axis=1)
    return max(float(np.median(edges)), 1e-6)


def _noise(field, starts, others):
    """Standard deviation of the white noise of a field, by what neighbours differ."""
    some = np.arange(0, len(field), max(1, len(field) // 40_000))
    rough = _rough(field, starts, others, some)
    rough = rough[np.isfinite(rough)]
    return 1.4826 * float(np.median(np.abs(rough))) if len(rough) else 0.0


@jit
def _rough(field, starts, others, some):
    """A value less the mean of its neighbours, at the size white noise has; nan if unknown."""
    result = np.full(len(some), np.nan)
    for k in range(len(some)):
        v = some[k]
        total, count = 0.0, 0
        for i in range(starts[v], starts[v + 1]):
            if not np.isnan(field[others[i]]):
                total += field[others[i]]
                count += 1
        if count >= 3 and not np.isnan(field[v]):
            result[k] = (field[v] - total / count) / np.sqrt(1.0 + 1.0 / count)
    return result


@jit
def _smoothed(field, starts, others, passes):
    """A field without its noise; nan stays nan and takes no part."""
    field = field.copy()
    moved = field.copy()
    for turn in range(2 * passes):
        share = INWARD if turn % 2 == 0 else OUTWARD
        for v in range(len(field)):
            if np.isnan(field[v]):
                continue
            total, count = 0.0, 0
            for i in range(starts[v], starts[v + 1]):
                value = field[others[i]]
                if not np.isnan(value):
                    total += value
                    count += 1
            moved[v] = field[v]
            if count:
                moved[v] += share * (total / count - field[v])
        field, moved = moved, field
    return field


def _gain(own, passes):
    """How much of white noise the smoothing leaves, tried on a slice of the mesh itself."""
    along = own.vertices[:, np.argmax(np.ptp(own.vertices, axis=0))]
    share = 0.5 * min(GAIN_CORNERS / len(along), 1.0)
    low, high = np.quantile(along, [0.5 - share, 0.5 + share])
    amount = np.random.default_rng(0).normal(size=len(along))
    amount[(along < low) | (along > high)] = np.nan
    return float(np.nanstd(_smoothed(amount, *own.links[:2], passes)))
