"""Which mesh of fewer triangles looks like a surface, and how far is it from the surface?

Edges are collapsed by the fast-simplification package (quadric errors: Garland and Heckbert
1997). How far the smaller mesh lies from every corner of the whole one is measured afterwards,
and where that is too much it keeps more triangles: nothing rests on what the package promises.
"""

import threading
from dataclasses import dataclass

import numpy as np
from fast_simplification import simplify

from casework.measure.surfaces.nearest import Nearest

BOUND_UM = 50.0  # 99 of 100 corners of the whole surface lie nearer to the smaller one
GROWTH = 1.5  # more triangles where that is not kept
REACH_MM = 2.0
# The package keeps the mesh it works on in one place for the whole process.
_one_at_a_time = threading.Lock()


@dataclass(frozen=True, eq=False)
class Reduced:
    """A smaller mesh: vertices (m, 3) float64, faces (n, 3) int32.

    `error_p99_um` and `error_worst_um` are distances of the whole surface's corners from it;
    the worst is at most `REACH_MM`, which stands for everything farther.
    """

    vertices: np.ndarray
    faces: np.ndarray
    error_p99_um: float
    error_worst_um: float


def reduced(vertices: np.ndarray, faces: np.ndarray, most_triangles: int) -> Reduced:
    """Return the surface with about as many triangles, or more where `BOUND_UM` asks for it.

    A surface of no more triangles is returned as it is.
    """
    vertices = np.ascontiguousarray(vertices, float)
    count = most_triangles
    while count < len(faces):
        middle = vertices.mean(axis=0)
        with _one_at_a_time:
            points, kept = simplify(
                vertices - middle,
                # A copy: the package writes, and the triangles of a file are not to be written.
                np.array(faces, np.int32, order="C"),
                target_count=int(count),
                preserve_border=True,
            )
        points = points.astype(float) + middle
        errors = _errors_um(vertices, points, kept)
        p99, worst = np.quantile(errors, 0.99), errors.max()
        if p99 <= BOUND_UM:
            return Reduced(points, kept.astype(np.int32), float(p99), float(worst))
        count *= GROWTH
    return Reduced(vertices, np.ascontiguousarray(faces, np.int32), 0.0, 0.0)


def _errors_um(vertices, points, faces):
    distances_mm = Nearest(points, faces, REACH_MM).closest(vertices).distance_mm
    return 1000 * np.minimum(distances_mm, REACH_MM)
