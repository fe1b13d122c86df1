"""Is the first triangle on a ray really the first, and the distance the right one?"""

import numpy as np
import trimesh

from casework.measure.surfaces.nearest import Nearest
from casework.measure.surfaces.rays import BACK, FRONT, first_hits
from tests.shapes import box, rotation, sphere, tube


def directions_of(random, count):
    drawn = random.normal(size=(count, 3))
    return drawn / np.linalg.norm(drawn, axis=1)[:, None]


def test_a_ray_from_the_middle_of_a_box_meets_its_walls_from_within():
    vertices, faces = box(4, 6, 8)
    turn = rotation(3)
    rays = np.concatenate([np.eye(3), -np.eye(3)])

    away, face = first_hits(
        Nearest(vertices @ turn.T, faces, 1.0),
        np.tile(turn @ [2.0, 3.0, 4.1], (6, 1)),
        rays @ turn.T,
        BACK,
        20.0,
    )

    np.testing.assert_allclose(away, [2, 3, 3.9, 2, 3, 4.1], atol=1e-9)
    assert (face >= 0).all()


def test_the_front_is_met_from_outside_only():
    nearest = Nearest(*sphere(3.0, 200), 1.0)
    start, ray = np.array([[0.01, 0.02, 9.0]]), np.array([[0.0, 0.0, -1.0]])

    # Inscribed: at most the sagitta inside the sphere.
    assert abs(first_hits(nearest, start, ray, FRONT, 30.0)[0][0] - 6.0) < 1e-3
    assert abs(first_hits(nearest, start, ray, BACK, 30.0)[0][0] - 12.0) < 1e-3


def test_nothing_is_met_beyond_the_reach_or_beside_the_surface():
    nearest = Nearest(*box(2, 2, 2), 1.0)
    starts = np.array([[1.0, 0.9, 9.0], [5.0, 5.0, 9.0], [np.nan, 0, 0]])
    rays = np.tile([0.0, 0.0, -1.0], (3, 1))

    away, face = first_hits(nearest, starts, rays, FRONT, 6.9)

    assert np.isinf(away).all() and (face == -1).all()
    assert first_hits(nearest, starts, rays, FRONT, 7.1)[0][0] == 7.0


def test_hits_are_those_of_every_triangle():
    """Against trimesh (general reference library), without its acceleration."""
    random = np.random.default_rng(8)
    vertices, faces = tube(5, 3, 6, 40)
    origins, rays = random.uniform(-7, 7, (400, 3)), directions_of(random, 400)

    away, face = first_hits(Nearest(vertices, faces, 2.0), origins, rays, FRONT, 40.0)

    mesh = trimesh.Trimesh(vertices, faces, process=False)
    triangles = mesh.triangles
    for p in range(400):
        count = len(triangles)
        on = trimesh.intersections.planes_lines(
            triangles[:, 0],
            mesh.face_normals,
            np.tile(origins[p], (count, 1)),
            np.tile(rays[p], (count, 1)),
        )
        hit, is_valid = on
        along = (hit - origins[p]) @ rays[p]
        shares = trimesh.triangles.points_to_barycentric(triangles[is_valid], hit)
        is_in = (shares > -1e-9).all(axis=1) & (along > 1e-4)
        is_in &= mesh.face_normals[is_valid] @ rays[p] < 0
        expected = along[is_in].min() if is_in.any() else np.inf
        np.testing.assert_allclose(away[p], expected, atol=1e-9)
