"""Are distances around an axis those of elementary geometry and of a naive twin?"""

import numpy as np
import pytest

from casework.measure.surfaces.cylinder import (
    cut_between,
    faces_near,
    free_radius,
    highest_within,
    lowest_within,
    radial_faces,
)
from tests.shapes import box, cone, tube, turned_profile


def soup(seed, triangles=60):
    """Triangles that cross, pierce the axis and share nothing."""
    corners = np.random.default_rng(seed).normal(0, 3, (triangles, 3, 3))
    return corners.reshape(-1, 3), np.arange(3 * triangles).reshape(-1, 3)


def dense(vertices, faces, parts=300):
    """The twin: points all over the triangles."""
    i, j = np.meshgrid(np.arange(parts + 1), np.arange(parts + 1))
    inside = i + j <= parts
    shares = np.column_stack([i[inside], j[inside], parts - i[inside] - j[inside]]) / parts
    return np.einsum("sk,fkd->fsd", shares, vertices[faces]).reshape(-1, 3)


def test_bore_of_a_tube_is_free_up_to_its_facets():
    vertices, faces = tube(outer=3.0, inner=1.05, height=8.0, sides=64)

    free = free_radius(vertices, faces, [(0.5, 1.0), (2.0, 7.0), (9.0, 10.0)])

    # A regular polygon inscribed in a circle is nearest in the middle of its sides.
    np.testing.assert_allclose(free.radius_mm[:2], 1.05 * np.cos(np.pi / 64), atol=1e-12)
    assert free.radius_mm[2] == np.inf and free.face[2] == -1


def test_triangles_are_cut_to_the_stretch_asked_for():
    vertices, faces = cone(radius=5.0, height=10.0, sides=256)

    free = free_radius(vertices, faces[faces.min(axis=1) > 0], [(2.0, 6.0), (6.0, 8.0)])

    # The mantle alone has the radius 5 - z / 2 at the height z.
    np.testing.assert_allclose(free.radius_mm, [2.0, 1.0], atol=4e-4)
    np.testing.assert_allclose(free.place_mm[:, 2], [6.0, 8.0], atol=1e-9)


def test_roof_over_the_axis_is_pierced_where_it_lies():
    vertices, faces = box(4, 4, 1, at=(-1, -1, 5))

    free = free_radius(vertices, faces, [(0, 10)])

    assert free.radius_mm[0] == 0.0
    assert free.place_mm[0, 2] in (5.0, 6.0)


@pytest.mark.parametrize("seed", range(4))
def test_least_distances_agree_with_points_all_over_the_triangles(seed):
    vertices, faces = soup(seed)
    stretches = np.array([(-2.0, -1.0), (0.0, 0.4), (1.0, 4.0)])

    free = free_radius(vertices, faces, stretches)

    points = dense(vertices, faces)
    radius = np.hypot(points[:, 0], points[:, 1])
    for k, (low, high) in enumerate(stretches):
        twin = radius[(points[:, 2] >= low) & (points[:, 2] <= high)].min()
        assert -1e-9 < twin - free.radius_mm[k] < 0.03
        assert np.hypot(*free.place_mm[k, :2]) == pytest.approx(free.radius_mm[k], abs=1e-9)
        assert low - 1e-9 <= free.place_mm[k, 2] <= high + 1e-9


@pytest.mark.parametrize("seed", range(4))
def test_heights_within_a_radius_agree_with_points_all_over_the_triangles(seed):
    vertices, faces = soup(seed)

    for radius in (0.4, 1.5):
        points = dense(vertices, faces)
        inside = points[np.hypot(points[:, 0], points[:, 1]) < radius, 2]
        assert -1e-9 < highest_within(vertices, faces, radius)[0] - inside.max() < 0.03
        assert -1e-9 < inside.min() - lowest_within(vertices, faces, radius)[0] < 0.03


def test_head_rests_on_the_seat_and_not_on_a_wall_it_only_touches():
    profile = [(0.75, 0), (2, 0), (2, 5), (1.05, 5), (1.05, 1), (0.75, 1), (0.75, 0)]
    vertices, faces = turned_profile(profile, 64)

    assert highest_within(vertices, faces, 0.9)[0] == pytest.approx(1.0)
    touching = 1.05 * np.cos(np.pi / 64) - 1e-9
    assert highest_within(vertices, faces, touching)[0] == pytest.approx(1.0)
    assert highest_within(vertices, faces, 1.06)[0] == pytest.approx(5.0)
    assert highest_within(vertices, faces, 0.7) is None


def test_top_of_a_slanted_plane_within_a_radius_lies_on_its_rim():
    # z = x / 2 over a large square: the highest place within 1 mm is at x = 1.
    vertices = np.array([[-9, -9, -4.5], [9, -9, 4.5], [9, 9, 4.5], [-9, 9, -4.5]], float)

    height, place, _ = highest_within(vertices, np.array([[0, 1, 2], [0, 2, 3]]), 1.0)

    assert height == pytest.approx(0.5)
    np.testing.assert_allclose(place, [1.0, 0.0, 0.5], atol=1e-12)


def test_faces_tell_how_near_they_come_and_which_way_they_look():
    vertices, faces = tube(outer=3.0, inner=1.0, height=4.0, sides=48)

    radius, cosine = radial_faces(vertices, faces)

    inner = cosine < -0.9
    np.testing.assert_allclose(radius[inner], np.cos(np.pi / 48), atol=1e-12)
    np.testing.assert_allclose(radius[cosine > 0.9], 3 * np.cos(np.pi / 48), atol=1e-12)
    assert inner.sum() == (cosine > 0.9).sum() == 96
    assert (np.abs(cosine[~inner & (cosine < 0.9)]) < 1e-9).all()


def test_a_body_cut_between_two_heights_keeps_its_mantle():
    vertices, faces = tube(outer=3.0, inner=1.0, height=10.0, sides=32)
    mantle = faces[64:128]

    local, kept = cut_between(vertices, mantle, 2.0, 5.0)

    heights = local[kept][..., 2]
    assert heights.min() == pytest.approx(2.0) and heights.max() == pytest.approx(5.0)
    corners = local[kept]
    across = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    area = np.linalg.norm(across, axis=1).sum() / 2
    # The mantle of a prism of 32 sides.
    assert area == pytest.approx(3.0 * 32 * 2 * 3.0 * np.sin(np.pi / 32), rel=1e-9)


@pytest.mark.parametrize("seed", range(3))
def test_no_face_near_the_axis_is_missed(seed):
    vertices, faces = soup(seed)

    near = faces_near(vertices, faces, 1.5)

    assert near[radial_faces(vertices, faces)[0] < 1.5].all()
    assert not near.all()
