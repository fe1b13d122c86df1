"""Is a body of flat faces as round between its corners as the body it stands for?"""

import numpy as np

from casework.measure.surfaces.nearest import Nearest
from casework.measure.surfaces.normals import face_normals
from casework.measure.surfaces.shading import corner_normals, smooth_normals
from tests.shapes import box, cylinder, sphere


def normals_at(points, vertices, faces):
    found = Nearest(vertices, faces, 3.0).closest(points)
    return smooth_normals(
        found.point_mm, found.face, vertices, faces.astype(np.int32),
        corner_normals(vertices, faces),
    )  # fmt: skip


def test_the_wall_of_a_cylinder_faces_away_from_its_axis():
    vertices, faces = cylinder(radius=2.0, height=6.0, sides=48)
    random = np.random.default_rng(1)
    turn = random.uniform(0, 2 * np.pi, 400)
    away = np.column_stack([np.cos(turn), np.sin(turn), np.zeros(400)])
    points = 2.0 * away + random.uniform(0.5, 5.5, 400)[:, None] * [0, 0, 1]

    # Linear between directions 7.5 degrees apart: at most 0.01 degrees beside the true one.
    np.testing.assert_allclose(normals_at(points, vertices, faces), away, atol=3e-4)


def test_a_sphere_faces_away_from_its_centre():
    vertices, faces = sphere(radius=4.0, sides=96)
    points = np.random.default_rng(2).normal(size=(300, 3))
    points *= 4.0 / np.linalg.norm(points, axis=1)[:, None]
    np.testing.assert_allclose(normals_at(points, vertices, faces), points / 4, atol=0.01)


def test_the_sides_of_a_box_stay_flat_up_to_their_edges():
    vertices, faces = box()
    flat = np.repeat(face_normals(vertices, faces)[:, None], 3, axis=1)
    np.testing.assert_allclose(corner_normals(vertices, faces), flat, atol=1e-12)


def test_no_face_has_no_normal():
    vertices, faces = box()
    far = np.array([[100.0, 0, 0]])
    assert (normals_at(far, vertices, faces) == 0).all()
