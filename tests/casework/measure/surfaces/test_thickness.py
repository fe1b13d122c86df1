"""Is the least distance the least, and the local thickness that of bodies of known form?"""

import numpy as np
import pytest
import trimesh

from casework.measure.surfaces.nearest import Nearest
from casework.measure.surfaces.places import even_places_on, places_on
from casework.measure.surfaces.thickness import least_of_groups, local_thickness
from tests.shapes import box, rotation, sphere, tube


def all_faces(faces):
    return np.arange(len(faces))


def one_group(found):
    return np.zeros(len(found.points), int)


def off_centre_tube(outer=3.0, inner=1.5, shift=0.6, sides=200, height=4.0):
    """A tube whose bore is shifted: least wall R - r - shift (elementary geometry)."""
    vertices, faces = tube(outer, inner, height, sides)
    ring = np.hypot(vertices[:, 0], vertices[:, 1])
    vertices[ring < (outer + inner) / 2, 0] += shift
    return vertices, faces


@pytest.mark.parametrize("spacing_mm", [0.1, 0.5])
def test_even_places_stand_for_the_whole_area(spacing_mm):
    vertices, faces = box(3, 2, 1)
    places, area = even_places_on(Nearest(vertices, faces, 1.0), all_faces(faces), spacing_mm)

    assert abs(area.sum() - 22.0) < 1e-9
    np.testing.assert_allclose(area @ places.point_mm / 22.0, [1.5, 1.0, 0.5], atol=1e-9)


def test_no_place_of_a_large_triangle_is_far_from_one_that_is_asked():
    vertices, faces = box(3, 2, 1)
    nearest = Nearest(vertices, faces, 1.0)
    places = places_on(nearest, all_faces(faces), 0.3)

    drawn = trimesh.sample.sample_surface(
        trimesh.Trimesh(vertices, faces, process=False), 500, seed=1
    )[0]
    away = np.linalg.norm(drawn[:, None] - places.point_mm[None], axis=2).min(axis=1)
    assert away.max() < 0.3


@pytest.mark.parametrize("shift", [0.0, 0.35, 1.0])
def test_the_wall_of_an_off_centre_bore_is_the_least_difference_of_radii(shift):
    vertices, faces = off_centre_tube(shift=shift)
    turn = rotation(4)
    vertices = vertices @ turn.T
    middles = vertices[faces].mean(axis=1) @ turn
    flat = np.abs(np.cross(*(np.diff(vertices[faces], axis=1).transpose(1, 0, 2))) @ turn)
    is_side = flat[:, 2] < 1e-9
    ring = np.hypot(middles[:, 0], middles[:, 1])
    inner = np.flatnonzero(
        is_side & (ring < 2.7) & (np.hypot(middles[:, 0] - shift, middles[:, 1]) < 1.6)
    )
    outer = np.flatnonzero(is_side & (ring > 2.9))

    nearest = Nearest(vertices, faces, 3.0)
    least, place, other = least_of_groups(
        places_on(nearest, inner), one_group, Nearest(vertices, faces[outer], 3.0), 1
    )

    # Both polygons have corners at the same turns; the sagitta of the outer one is 0.4 µm.
    assert abs(least[0] - (1.5 - shift)) < 5e-4
    assert abs(np.linalg.norm(place - other) - least[0]) < 1e-9


def test_the_least_distance_is_not_missed_between_the_places_asked():
    """Two crossed wedges: their edges are nearest at one point, inside of long triangles."""
    edge = np.array([[-5.0, 0, 0], [5, 0, 0], [0, 3, -3], [0, -3, -3.0]])
    upper = np.array([[0.0, -5, 0.4], [0, 5, 0.4], [3, 0, 3.4], [-3, 0, 3.4]])
    faces = np.array([[0, 1, 2], [1, 0, 3]])

    for seed in range(5):
        turn = rotation(seed)
        lower = Nearest(edge @ turn.T, faces, 4.0)
        least, place, _ = least_of_groups(
            places_on(lower, all_faces(faces)), one_group,
            Nearest(upper @ turn.T + turn[:, 0] * 0.123, faces, 4.0), 1,
        )  # fmt: skip
        assert abs(least[0] - 0.4) < 1e-5
        np.testing.assert_allclose(place[0] @ turn, [0.123, 0, 0], atol=2e-3)


def test_the_least_distance_is_that_of_trimesh():
    """On random triangles, against trimesh's closest point (general reference library)."""
    random = np.random.default_rng(6)
    one = random.normal(0, 1, (60, 3)), random.integers(0, 60, (40, 3)).astype(np.int32)
    two = random.normal(0, 1, (60, 3)) + [5, 0, 0], one[1].copy()
    one[1][:, 1], two[1][:, 2] = (one[1][:, 0] + 7) % 60, (two[1][:, 0] + 11) % 60
    places = places_on(Nearest(*one, 9.0), all_faces(one[1]), 0.1)

    least, _, _ = least_of_groups(places, one_group, Nearest(*two, 9.0), 1)

    dense = places_on(Nearest(*one, 9.0), all_faces(one[1]), 0.02)
    order = np.argsort(((dense.point_mm - [5, 0, 0]) ** 2).sum(axis=1))[:3000]
    triangles = np.repeat(two[0][two[1]][None], len(order), axis=0).reshape(-1, 3, 3)
    asked = np.repeat(dense.point_mm[order], len(two[1]), axis=0)
    on = trimesh.triangles.closest_point(triangles, asked)
    theirs = np.linalg.norm(on - asked, axis=1).min()
    assert theirs - 0.02 < least[0] < theirs + 1e-6


def test_a_plate_is_as_thick_as_it_is_away_from_its_edges():
    vertices, faces = box(8, 6, 0.7)
    turn = rotation(2)
    points = np.array([[4.0, 3.0, 0.7], [1.0, 5.0, 0.0], [8.0, 3.0, 0.35]])
    normals = np.array([[0.0, 0, 1], [0, 0, -1], [1, 0, 0]])
    nearest = Nearest(vertices @ turn.T, faces, 1.5)

    thickness, touch, face = local_thickness(nearest, points @ turn.T, normals @ turn.T, 3.0)

    np.testing.assert_allclose(thickness[:2], 0.7, atol=1e-3)
    np.testing.assert_allclose(touch[0] @ turn, [4, 3, 0], atol=1e-2)
    # Looked at from its narrow side the plate has no opposite side that near.
    assert np.isnan(thickness[2]) and face[2] == -1


def test_a_shell_is_as_thick_as_its_radii_differ():
    outer, faces = sphere(4.0, 160)
    inner, _ = sphere(3.4, 160)
    vertices = np.concatenate([outer, inner])
    both = np.concatenate([faces, faces[:, ::-1] + len(outer)])
    asked = outer[::37]

    thickness, _, _ = local_thickness(Nearest(vertices, both, 1.5), asked, asked / 4.0, 3.0)

    # Sagitta of both spheres: at most 2 r (1 - cos(180°/sides)).
    assert np.abs(thickness - 0.6).max() < 2 * 4.0 * (1 - np.cos(np.pi / 160)) + 1e-3


def test_a_solid_ball_is_as_thick_as_its_diameter_and_no_more_is_measured():
    vertices, faces = sphere(1.0, 120)
    asked = vertices[::29]

    near, _, _ = local_thickness(Nearest(vertices, faces, 1.5), asked, asked, 3.0)
    far, _, _ = local_thickness(Nearest(vertices, faces, 0.75), asked, asked, 1.5)

    assert np.abs(near - 2.0).max() < 5e-3
    assert np.isnan(far).all()
