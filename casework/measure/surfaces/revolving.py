"""How does a turned part, a screw or a driver or an axis, become a mesh?"""

import numpy as np

from casework.measure.surfaces.poses import Pose

SIDES = 48


def revolved(
    profile_mm, pose: Pose | None = None, sides: int = SIDES
) -> tuple[np.ndarray, np.ndarray]:
    """Return vertices (m, 3), faces (n, 3) int32 of a closed solid of revolution.

    `profile_mm` (k, 2): radius and height of its outline, from one end of the axis to the
    other, heights ascending on the outside; an end off the axis is closed by a disc. The solid
    stands on the axis of `pose`, heights counted from its origin. Corners lie on the true
    surface, so that the solid is thinner than it by r (1 - cos(π / sides)) between them.
    """
    profile = np.asarray(profile_mm, float)
    if len(profile) < 2 or (profile[:, 0] < 0).any():
        raise ValueError("an outline has two points or more, and no radius below 0")
    ends = [[(0.0, profile[k, 1])] if profile[k, 0] > 0 else [] for k in (0, -1)]
    profile = np.array([*ends[0], *map(tuple, profile), *ends[1]])
    turn = 2 * np.pi * np.arange(sides) / sides
    ring = np.stack([np.cos(turn), np.sin(turn)], axis=1)
    points = np.empty((len(profile), sides, 3))
    points[..., :2] = profile[:, None, :1] * ring
    points[..., 2] = profile[:, None, 1]
    low = np.arange(len(profile) - 1)[:, None] * sides + np.arange(sides)
    after = np.roll(low, -1, axis=1)
    faces = np.stack([[low, after, after + sides], [low, after + sides, low + sides]], axis=0)
    faces = faces.transpose(2, 3, 0, 1).reshape(-1, 3)
    local = points.reshape(-1, 3)
    corner = local[faces]
    area = np.linalg.norm(
        np.cross(corner[:, 1] - corner[:, 0], corner[:, 2] - corner[:, 0]), axis=1
    )
    faces = np.ascontiguousarray(faces[area > 0], np.int32)
    return (local if pose is None else pose.to_world(local)), faces


def rod(start_mm, end_mm, radius_mm: float, sides: int = 12) -> tuple[np.ndarray, np.ndarray]:
    """Return vertices, faces of a thin round rod from one place to another."""
    start, end = np.asarray(start_mm, float), np.asarray(end_mm, float)
    length = np.linalg.norm(end - start)
    return revolved([(radius_mm, 0.0), (radius_mm, length)], Pose.of(start, end - start), sides)
