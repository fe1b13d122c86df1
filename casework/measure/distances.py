"""How far apart are the two most distant of a set of points?"""

import numpy as np

from casework.measure.jit import jit

MOST_POINTS = 20000  # beyond, only points that are outermost in one of many directions


def span_mm(points: np.ndarray, most: int = MOST_POINTS) -> float:
    """Return the largest distance between two of points (k, 3), 0.0 for fewer than two.

    Exact for at most so many points; beyond, too small by at most 0.1 %.
    """
    if len(points) < 2:
        return 0.0
    if len(points) > most:
        points = _outermost(points)
    reach = np.linalg.norm(points - points.mean(axis=0), axis=1)
    order = np.argsort(-reach)
    return float(np.sqrt(_farthest(points[order], reach[order])))


@jit
def _farthest(points, reach):
    """Compare pairs, far ones first, until no pair can be farther (triangle inequality)."""
    best = 0.0
    for i in range(len(points)):
        total = reach[i] + reach[0]
        if total * total * (1 + 1e-12) < best:
            break
        for j in range(i):
            total = reach[i] + reach[j]
            if total * total * (1 + 1e-12) < best:
                break
            d = 0.0
            for x in range(3):
                d += (points[i, x] - points[j, x]) ** 2
            best = max(best, d)
    return best


def _outermost(points, directions=4096):
    """Return the points that are outermost in evenly spread directions (Fibonacci lattice)."""
    k = np.arange(directions) + 0.5
    z = 1 - k / directions  # one half of the sphere: both ends of each direction are taken
    turn = np.pi * (3 - np.sqrt(5)) * k
    flat = np.sqrt(1 - z * z)
    chosen = set()
    for direction in np.column_stack([flat * np.cos(turn), flat * np.sin(turn), z]):
        along = points @ direction
        chosen.update((int(along.argmin()), int(along.argmax())))
    return points[sorted(chosen)]
