"""Do points spread over a surface stand for equal parts of it?"""

import numpy as np

from casework.measure.surfaces.normals import face_areas
from casework.measure.surfaces.sampling import spread
from tests.shapes import box, sphere


def test_points_stand_for_equal_parts_of_their_face():
    vertices, faces = box(10, 8, 6)
    points, face = spread(vertices, faces, 0.5)

    counts = np.bincount(face)
    assert set(counts) == {int(np.ceil(np.hypot(a, b) / 0.5)) ** 2 for a, b in
                           ((10, 8), (8, 6), (6, 10))}  # fmt: skip
    # The mean of equal parts of a triangle is its own middle.
    for f in range(len(faces)):
        np.testing.assert_allclose(
            points[face == f].mean(axis=0), vertices[faces[f]].mean(axis=0)
        )
    share = (face_areas(vertices, faces) / counts)[face]
    np.testing.assert_allclose(share.sum(), 2 * (80 + 48 + 60))


def test_no_place_is_farther_than_a_step_from_a_point():
    vertices, faces = box(3, 2, 1)
    points, _ = spread(vertices, faces, 0.4)
    random = np.random.default_rng(0)

    corners = vertices[faces[random.integers(0, 12, 300)]]
    weights = random.dirichlet([1, 1, 1], 300)
    places = np.einsum("kc,kcx->kx", weights, corners)

    away = np.linalg.norm(places[:, None] - points[None], axis=2).min(axis=1)
    assert away.max() < 0.4


def test_small_triangles_have_one_point_each():
    vertices, faces = sphere(1.0, 64)

    points, face = spread(vertices, faces, 0.3)

    np.testing.assert_array_equal(face, np.arange(len(faces)))
    np.testing.assert_allclose(points, vertices[faces].mean(axis=1))
