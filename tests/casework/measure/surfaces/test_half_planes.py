"""Do sections around an axis show the profile that a body was turned from?"""

import numpy as np
import trimesh

from casework.measure.surfaces.half_planes import sections_around
from tests.shapes import box, cone, rotation, turned_profile


def test_a_turned_body_has_its_profile_in_every_half_plane():
    profile = [(0, 0), (3, 0), (4, 2), (2.5, 2), (2, 7), (0, 7)]
    local, faces = turned_profile(profile, 90)

    outline = sections_around(local, faces, 45).outline(0.0, 0.5, 15)

    z = np.arange(15) * 0.5
    expected = np.where(z <= 2, 3 + z / 2, 2.5 - 0.1 * (z - 2))
    np.testing.assert_allclose(outline, np.tile(expected, (45, 1)), atol=1e-9)


def test_sections_reach_every_half_plane_also_over_faces_on_the_axis():
    local, faces = box(2, 2, 2, at=(-1, -1, 0))

    sections = sections_around(local, faces, 8)

    for k in range(8):
        ends = sections.of(k)
        # The walls are 1 mm from the axis, the edges at 45 degrees √2.
        assert abs(ends[..., 0].max() - (1 if k % 2 == 0 else np.sqrt(2))) < 1e-9
        assert {0.0, 2.0} == set(np.round(ends[ends[..., 0] < 0.01][:, 1], 9))


def test_segments_have_the_length_of_a_plane_section():
    """A plane through the axis is two half planes; against trimesh (general library)."""
    local, faces = cone(5, 6, 30)
    local = (local - [0.4, 0.3, 2.0]) @ rotation(5).T

    sections = sections_around(local, faces, 10)

    for k in range(5):
        turn = np.pi * 2 * k / 10
        normal = [-np.sin(turn), np.cos(turn), 0.0]
        lines = trimesh.intersections.mesh_plane(
            trimesh.Trimesh(local, faces, process=False), normal, [0, 0, 0]
        )
        expected = np.linalg.norm(lines[:, 0] - lines[:, 1], axis=1).sum()
        both = np.concatenate([sections.of(k), sections.of(k + 5)])
        found = np.linalg.norm(both[:, 0] - both[:, 1], axis=1).sum()
        np.testing.assert_allclose(found, expected, rtol=1e-9)
