"""Is the nearest point of a surface really the nearest, and the side the right one?"""

import numpy as np
import pytest
import trimesh
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.spatial.transform import Rotation

from casework.measure.surfaces.nearest import Nearest
from tests.shapes import box, sphere


def nearest_of_all(points, vertices, faces):
    """Every point against every triangle, by trimesh (general reference library)."""
    triangles = np.repeat(vertices[faces][None], len(points), axis=0).reshape(-1, 3, 3)
    asked = np.repeat(points, len(faces), axis=0)
    on = trimesh.triangles.closest_point(triangles, asked)
    return np.linalg.norm(on - asked, axis=1).reshape(len(points), len(faces)).min(axis=1)


@pytest.mark.parametrize("reach_mm", [0.5, 3.0, 40.0])
@pytest.mark.parametrize("scale", [0.01, 1.0, 10.0])
def test_distances_are_those_of_every_triangle(reach_mm, scale):
    random = np.random.default_rng(4)
    vertices = random.normal(0, scale, (90, 3))
    faces = random.integers(0, 90, (150, 3))
    points = random.normal(0, 1.5 * scale, (200, 3))

    found = Nearest(vertices, faces, reach_mm).closest(points)

    expected = nearest_of_all(points, vertices, faces)
    is_near = expected <= reach_mm
    assert (found.is_found == is_near).all()
    np.testing.assert_allclose(found.distance_mm[is_near], expected[is_near], atol=1e-9)
    assert np.isinf(found.distance_mm[~is_near]).all()
    away = np.linalg.norm(points - found.point_mm, axis=1)
    np.testing.assert_allclose(away[is_near], found.distance_mm[is_near], atol=1e-12)


@given(st.integers(0, 10**6))
@settings(max_examples=25, deadline=None)
def test_the_side_of_a_turned_box_is_that_of_its_planes(seed):
    random = np.random.default_rng(seed)
    turn = Rotation.random(random_state=seed).as_matrix()
    vertices, faces = box(5, 4, 3)
    points = random.uniform(-3, 8, (300, 3))

    found = Nearest(vertices @ turn.T, faces, 20.0).closest(points @ turn.T)

    sides = np.maximum(-points, points - [5, 4, 3])
    outside = np.linalg.norm(np.maximum(sides, 0), axis=1)
    expected = np.where((sides < 0).all(axis=1), sides.max(axis=1), outside)
    np.testing.assert_allclose(found.signed_mm, expected, atol=1e-9)


def test_a_sphere_is_as_far_as_its_radius_says():
    vertices, faces = sphere(radius=4.0, sides=200)
    random = np.random.default_rng(1)
    points = random.normal(0, 1, (500, 3))
    points *= (random.uniform(0, 7, 500) / np.linalg.norm(points, axis=1))[:, None]

    signed = Nearest(vertices, faces, 5.0).closest(points).signed_mm

    # Inscribed: at most 2 r (1 - cos(180°/sides)) inside the sphere, along both directions.
    sagitta = 2 * 4.0 * (1 - np.cos(np.pi / 200))
    expected = np.linalg.norm(points, axis=1) - 4.0
    assert (signed >= expected - 1e-9).all() and (signed <= expected + sagitta).all()


def test_the_border_of_an_open_surface_is_told():
    vertices, faces = box(4, 4, 4)
    open_faces = faces[(vertices[faces][:, :, 2] < 4).any(axis=1)]
    points = np.array([[2.0, 2.0, -1.0], [-1.0, 2.0, 5.0], [-1.0, -1.0, 5.0], [-1, 2, 2]])

    found = Nearest(vertices, open_faces, 9.0).closest(points)

    assert found.is_on_border.tolist() == [False, True, True, False]


def test_points_that_are_no_numbers_find_nothing():
    vertices, faces = box()
    points = np.array([[np.nan, 0, 0], [np.inf, 0, 0], [1.0, 1.0, 1.0]])
    assert Nearest(vertices, faces, 2.0).closest(points).is_found.tolist() == [0, 0, 1]


def test_an_empty_surface_is_near_to_nothing():
    found = Nearest(np.zeros((0, 3)), np.zeros((0, 3), int), 1.0).closest(np.zeros((2, 3)))
    assert not found.is_found.any() and np.isinf(found.signed_mm).all()
