"""From which side is a case looked at, and how near?"""

from collections.abc import Mapping, Sequence

import numpy as np

from casework.measure.surfaces.drawing import Camera
from casework.measure.surfaces.poses import Pose
from casework.measurements.pictures.shown import Shown

MARGIN = 1.16  # of what is framed
SHORT_MM = 0.2  # nearer to an axis, a place has no side of it
AROUND_MM = 1.0  # as far the surface around a place shows which way it faces


def upward(poses: Mapping[str, Pose], shown: Sequence[Shown]) -> np.ndarray:
    """Return the direction from the gums to the opposing jaw.

    The mean direction of the implants; without any, that across which the surfaces are
    thinnest, toward the opposing arch where there is one.
    """
    if poses:
        return _unit(np.mean([pose.axis for pose in poses.values()], axis=0))
    centred = [one.vertices - one.vertices.mean(axis=0) for one in shown]
    points = np.concatenate([np.eye(3), *centred])
    thin = np.linalg.svd(points.T @ points)[0][:, 2]
    middles = {one.role: one.vertices.mean(axis=0) for one in shown}
    opposing = middles.pop("opposing_arch", None)
    if opposing is None or not middles:
        return thin
    return thin if (opposing - next(iter(middles.values()))) @ thin > 0 else -thin


def _unit(vector):
    return vector / np.linalg.norm(vector)


def across(
    vector: np.ndarray, axis: np.ndarray, otherwise: np.ndarray | None = None
) -> np.ndarray:
    """Return the unit direction of a vector across an axis; of another where it runs along."""
    flat = vector - (vector @ axis) * axis
    if np.linalg.norm(flat) > SHORT_MM:
        return _unit(flat)
    if otherwise is not None:
        return across(otherwise, axis)
    return Pose.of(np.zeros(3), axis).toward


def outside(one: Shown, place: np.ndarray, otherwise: np.ndarray) -> np.ndarray:
    """Return the mean direction in which a surface faces near a place on it."""
    corners = one.vertices[one.faces]
    near = np.linalg.norm(corners.mean(axis=1) - place, axis=1) < AROUND_MM
    areas = np.cross(corners[near, 1] - corners[near, 0], corners[near, 2] - corners[near, 0])
    total = areas.sum(axis=0)
    return _unit(total) if np.linalg.norm(total) > 1e-6 else otherwise


def framing(points: np.ndarray, toward, up, size: tuple[int, int]) -> Camera:
    """Return the camera that shows all points (k, 3) as large as the size allows."""
    rough = Camera(points.mean(axis=0), toward, up, 1.0)
    seen = (points - rough.centre_mm) @ rough.axes.T
    low, high = seen.min(axis=0), seen.max(axis=0)
    wide, tall, _deep = MARGIN * (high - low)
    centre = rough.centre_mm + rough.axes.T @ ((low + high) / 2)
    return Camera(centre, toward, up, max(wide, tall * size[0] / size[1]))


def distance(one: Shown, place: np.ndarray) -> float:
    """Return how far a place is from the corners of a surface, in mm."""
    if not len(one.vertices):
        return np.inf
    return float(np.linalg.norm(one.vertices - place, axis=1).min())
