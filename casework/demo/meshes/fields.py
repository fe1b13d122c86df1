"""How are soft blends, distances and gradients of implicit shapes computed?

A shape is a function that is negative inside, zero on the surface, positive outside and grows
by about one per millimetre, so that it may be read as a rough distance.
"""

import numpy as np

STEP_MM = 1e-3  # half step of the central differences
SAME_FACE = 0.985  # cosine between near and wider gradient where a surface is smooth


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


def segment_distance(points, start, end):
    """Distance of points to a straight segment."""
    along = end - start
    share = np.clip((points - start) @ along / (along @ along), 0.0, 1.0)
    return np.linalg.norm(points - start - share[:, None] * along, axis=1)
