"""Are turned parts closed, as large as their closed form, and where they should stand?"""

import numpy as np
import pytest
import trimesh

from casework.measure.surfaces.poses import Pose
from casework.measure.surfaces.revolving import revolved, rod

CONE = [(5.0, 0.0), (0.0, 6.0)]
CYLINDER = [(5.0, 0.0), (5.0, 6.0)]
STEPPED = [(1.15, 5.0), (1.15, 2.0), (0.7, 2.0), (0.7, 0.0)]


def volume_of_steps(profile, sides):
    """Sum of truncated cones, π h (R² + R r + r²) / 3, of a regular polygon's area."""
    polygon = sides / (2 * np.pi) * np.sin(2 * np.pi / sides)
    return polygon * sum(
        np.pi * (z1 - z0) * (r0 * r0 + r0 * r1 + r1 * r1) / 3
        for (r0, z0), (r1, z1) in zip(profile, profile[1:], strict=False)
    )


@pytest.mark.parametrize("profile", [CONE, CYLINDER, STEPPED[::-1]])
def test_a_turned_part_is_closed_and_has_its_volume(profile):
    body = trimesh.Trimesh(*revolved(profile, sides=96))

    assert body.is_watertight and body.is_winding_consistent
    assert body.volume == pytest.approx(volume_of_steps(profile, 96))


def test_it_stands_on_the_axis_of_its_pose():
    pose = Pose.of([1, 2, 3], [0, 1, 1])
    vertices, _faces = revolved(CYLINDER, pose)

    local = pose.to_local(vertices)
    assert np.hypot(local[:, 0], local[:, 1]).max() == pytest.approx(5.0)
    assert (local[:, 2].min(), local[:, 2].max()) == pytest.approx((0.0, 6.0))


def test_a_rod_reaches_from_place_to_place():
    body = trimesh.Trimesh(*rod([1, 1, 1], [1, 5, 1], 0.1))

    assert body.is_watertight
    assert body.bounds == pytest.approx(np.array([[0.9, 1, 0.9], [1.1, 5, 1.1]]), abs=1e-3)


def test_an_outline_of_one_point_is_refused():
    with pytest.raises(ValueError, match="two points"):
        revolved([(1.0, 0.0)])
