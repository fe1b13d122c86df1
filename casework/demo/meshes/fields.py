"""How are soft blends, distances and gradients of implicit shapes computed?

A shape is a function that is negative inside, zero on the surface, positive outside and grows
by about one per millimetre, so that it may be read as a rough distance.
"""

from itertools import product

import numpy as np
from scipy.spatial import cKDTree

STEP_MM = 1e-3  # half step of the central differences
SAME_FACE = 0.985  # cosine between near and wider gradient where a surface is smooth
ROUNDED = 0.15  # of a cell: an edge so much rounded keeps its rounding
NEWTON = 4  # steps with which a point is put on the surface; the last gives its normal
MAY_BE_EDGE = 0.998  # the same cosine where an edge may run through the cell of a point
FLAT = 0.08  # planes that differ less, relative to what they share, do not meet in an edge
AROUND = np.array([one for one in product((-1.0, 0.0, 1.0), repeat=3) if any(one)])


def soft_max(one, two, width_mm):
    """The larger of two fields, rounded where they meet: an intersection with a fillet."""
    overlap = np.maximum(width_mm - np.abs(one - two), 0.0)
    return np.maximum(one, two) + overlap * overlap / (4.0 * width_mm)


def soft_min(one, two, width_mm):
    """The smaller of two fields, rounded where they meet: a union with a fillet."""
    return -soft_max(-one, -two, width_mm)


def unit(vector):
    """The vector at length one."""
    vector = np.asarray(vector, dtype=float)
    return vector / np.linalg.norm(vector)


def frame_of(axis, toward):
    """Rows u, v, w: w is the axis, u the part of `toward` across it, v completes them."""
    w = unit(axis)
    u = unit(np.asarray(toward, dtype=float) - np.dot(toward, w) * w)
    return np.stack([u, np.cross(w, u), w])


def _slope(points, field, step_mm):
    """Central differences of a field."""
    slope = np.empty_like(points)
    for axis in range(3):
        step = np.zeros(3)
        step[axis] = step_mm
        slope[:, axis] = (field(points + step) - field(points - step)) / (2 * step_mm)
    return slope


def settle(points, field, longest_mm, lengths=None):
    """Move points along the gradient onto the zero of a field, at most `longest_mm`.

    `lengths` gives the millimetres per unit of each coordinate where the coordinates are bent.
    Points beside a sharp edge stay: there the gradient jumps from face to face, and moving
    them would make the edge ragged.
    """
    value = field(points)
    metric = np.ones_like(points) if lengths is None else lengths
    slope = _slope(points, field, STEP_MM) / metric
    around = _slope(points, field, 2.5 * longest_mm) / metric
    steepness = np.linalg.norm(slope, axis=1)
    agreement = np.einsum("ij,ij->i", slope, around) / np.maximum(
        steepness * np.linalg.norm(around, axis=1), 1e-9
    )
    smooth = (agreement > SAME_FACE) & (steepness > 0.2)
    move = -(value / np.maximum(steepness, 0.2) ** 2)[:, None] * slope * smooth[:, None]
    length = np.linalg.norm(move, axis=1)
    shrink = np.minimum(1.0, longest_mm / np.maximum(length, 1e-12))
    return points + move * shrink[:, None] / metric


def onto(points, field, longest_mm):
    """Put points onto the surface of a field, beside sharp edges too, which become ragged."""
    for _ in range(NEWTON):
        points, _normals = _nearer(points, field, longest_mm)
    return points


def onto_edges(points, field, cells, step_mm):
    """Put the points of grid cells through which a sharp edge of the field runs onto it.

    The edge is where the planes that touch the surface in the cell meet, by least squares as in
    dual contouring (T. Ju, F. Losasso, S. Schaefer, J. Warren 2002; from memory). `cells` are
    the middles of the cells, whose sides run along the axes. A point leaves its own cell only
    for one in which the grid did not see the surface. Returned are the points on the surface
    beside the edges, and on the edges.
    """
    slope, around = _slope(points, field, STEP_MM), _slope(points, field, step_mm)
    lengths = np.linalg.norm(slope, axis=1) * np.linalg.norm(around, axis=1)
    agreement = np.einsum("ij,ij->i", slope, around) / np.maximum(lengths, 1e-9)
    at = np.flatnonzero(agreement < MAY_BE_EDGE)
    if not len(at):
        return points, points.copy()
    beside = points.copy()
    for _ in range(NEWTON):
        beside[at] = _nearer(beside[at], field, 0.2 * step_mm)[0]
    found = _meetings(field, cells[at], step_mm)
    away = np.abs(found - cells[at]).max(axis=1) / step_mm
    is_empty = cKDTree(cells).query(found, p=np.inf)[0] > 0.5 * step_mm
    # Where the planes meet off the surface the edge is rounded.
    is_sharp = np.abs(field(found)) < ROUNDED * step_mm
    is_sharp &= (away < 0.6) | (is_empty & (away < 1.0))
    at, found, away = at[is_sharp], found[is_sharp], away[is_sharp]
    pairs = cKDTree(found).query_pairs(0.05 * step_mm, output_type="ndarray")
    farther = np.where(away[pairs[:, 0]] > away[pairs[:, 1]], pairs[:, 0], pairs[:, 1])
    nearer = np.setdiff1d(np.arange(len(at)), farther)
    sharp = beside.copy()
    sharp[at[nearer]] = found[nearer]
    return beside, sharp


def _meetings(field, cells, step_mm):
    """Where the planes that touch the surface in cells meet, nearest to their middle."""
    feet = (cells[:, None] + 0.5 * step_mm * AROUND).reshape(-1, 3)
    for _ in range(NEWTON):
        feet, normals = _nearer(feet, field, step_mm)
    feet, normals = feet.reshape(len(cells), -1, 3), normals.reshape(len(cells), -1, 3)
    # Feet outside of the cell belong to others.
    counts = (np.linalg.norm(feet - cells[:, None], axis=2) < step_mm)[..., None]
    middle = (feet * counts).sum(axis=1) / np.maximum(counts.sum(axis=1), 1)
    off = np.einsum("kij,kij->ki", normals, (feet - middle[:, None]) * counts)
    return middle + np.einsum("kij,kj->ki", np.linalg.pinv(normals * counts, rcond=FLAT), off)


def _nearer(points, field, most_mm):
    """Points one step nearer to the surface of a field, and the normals before the step."""
    slope = _slope(points, field, STEP_MM)
    square = np.maximum((slope**2).sum(axis=1), 0.04)
    nearer = _within(most_mm, -slope * (field(points) / square)[:, None], points)
    return nearer, slope / np.maximum(np.sqrt(square), 1e-9)[:, None]


def is_folded(points, faces, field):
    """Which faces look away from where the field grows at their middle."""
    corner = points[faces]
    across = np.cross(corner[:, 1] - corner[:, 0], corner[:, 2] - corner[:, 0])
    return (across * _slope(corner.mean(axis=1), field, STEP_MM)).sum(axis=1) <= 0


def _within(most_mm, moves, points):
    """Points moved, none farther than `most_mm`."""
    length = np.maximum(np.linalg.norm(moves, axis=1), 1e-12)
    return points + moves * np.minimum(1.0, most_mm / length)[:, None]


def segment_distance(points, start, end):
    """Distance of points to a straight segment."""
    along = end - start
    share = np.clip((points - start) @ along / (along @ along), 0.0, 1.0)
    return np.linalg.norm(points - start - share[:, None] * along, axis=1)
