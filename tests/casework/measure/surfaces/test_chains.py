"""Are the segments that a plane makes of triangles chained into whole loops?"""

import numpy as np

from casework.measure.surfaces.chains import balls, by_place, loops
from tests.shapes import ellipsoid, joined, sphere


def chained(vertices, faces, height=0.1):
    u, v, normal = np.array([1.0, 0, 0]), np.array([0, 1.0, 0]), np.array([0, 0, 1.0])
    faces = np.ascontiguousarray(faces, np.int32)
    origin = np.array([0, 0, height])
    return loops(vertices, faces, balls(vertices, faces), origin, normal, u, v)


def test_sorting_faces_by_place_keeps_each_once():
    vertices, faces = ellipsoid((4, 5, 6), 40)
    faces = faces.astype(np.int32)

    ordered = by_place(vertices, faces)

    assert not np.array_equal(ordered, faces)
    assert {tuple(face) for face in ordered} == {tuple(face) for face in faces}
    # Neighbours in the list are nearer than faces at random.
    middles = vertices[ordered].mean(axis=1)
    steps = np.linalg.norm(np.diff(middles, axis=0), axis=1)
    random = middles[np.random.default_rng(0).permutation(len(middles))]
    assert steps.mean() < 0.5 * np.linalg.norm(np.diff(random, axis=0), axis=1).mean()


def test_every_segment_is_in_one_loop():
    two = sphere(3.0, 40)
    vertices, faces = joined(two, (two[0] + [10, 0, 0], two[1]))

    points, starts, gap = chained(vertices, faces)

    above = vertices[:, 2] >= 0.1
    crossing = (above[faces].any(axis=1) & ~above[faces].all(axis=1)).sum()
    assert len(points) == crossing
    assert len(starts) == 3
    assert gap == 0


def test_balls_hold_their_faces():
    vertices, faces = ellipsoid((4, 5, 6), 30)
    held = balls(vertices, faces.astype(np.int32))

    for f, face in enumerate(faces):
        away = np.linalg.norm(vertices[face] - held[f // 32, :3], axis=1)
        assert (away <= held[f // 32, 3] + 1e-9).all()


def test_the_order_of_faces_changes_no_area():
    vertices, faces = ellipsoid((4, 5, 6), 40)
    shuffled = faces[np.random.default_rng(1).permutation(len(faces))]

    one, other = chained(vertices, faces)[0], chained(vertices, shuffled)[0]

    def area(points):
        x, y = points.T
        return 0.5 * np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y)

    np.testing.assert_allclose(area(one), area(other), rtol=1e-12)
