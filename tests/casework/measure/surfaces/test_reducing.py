"""Smaller meshes against spheres, planes and trimesh's nearest points."""

import numpy as np
import pytest
import trimesh

from casework.measure.surfaces.reducing import BOUND_UM, reduced


@pytest.fixture(scope="module")
def ball():
    return trimesh.creation.icosphere(6, radius=10.0)


def test_a_ball_stays_a_ball(ball):
    small = reduced(ball.vertices, ball.faces, 12_000)

    radii = np.linalg.norm(small.vertices, axis=1)
    assert len(small.faces) <= 12_000
    assert np.abs(radii - 10.0).max() < 0.02
    whole = trimesh.Trimesh(small.vertices, small.faces)
    assert whole.is_watertight and whole.volume == pytest.approx(ball.volume, rel=2e-3)


def test_the_stated_error_is_what_trimesh_measures(ball):
    small = reduced(ball.vertices, ball.faces, 6_000)

    part = ball.vertices[::7]
    _near, distances, _face = trimesh.proximity.closest_point(
        trimesh.Trimesh(small.vertices, small.faces, process=False), part
    )
    errors_um = 1000 * distances
    assert np.quantile(errors_um, 0.99) == pytest.approx(small.error_p99_um, rel=0.1)
    assert errors_um.max() <= small.error_worst_um + 1e-6


def test_more_triangles_are_kept_where_the_bound_asks_for_it(ball):
    small = reduced(ball.vertices, ball.faces, 60)

    assert len(small.faces) > 60 and small.error_p99_um <= BOUND_UM


def test_a_small_surface_is_returned_as_it_is(ball):
    small = reduced(ball.vertices, ball.faces, len(ball.faces))

    assert small.error_worst_um == 0 and np.array_equal(small.faces, ball.faces)


def test_what_a_file_holds_is_not_written(ball):
    vertices, faces = np.asfortranarray(ball.vertices), ball.faces.astype(np.int32)
    for array in (vertices, faces):
        array.setflags(write=False)

    small = reduced(vertices, faces, 9_000)

    assert len(small.faces) <= 9_000 and np.array_equal(faces, ball.faces)


def test_a_border_is_kept_and_nothing_is_bridged():
    x, y = np.meshgrid(np.linspace(0, 20, 120), np.linspace(0, 20, 120))
    vertices = np.stack([x, y, 0.3 * np.sin(x)], axis=-1).reshape(-1, 3)
    index = np.arange(120 * 120).reshape(120, 120)
    a, b, c, d = index[:-1, :-1], index[:-1, 1:], index[1:, :-1], index[1:, 1:]
    faces = np.stack([[a, b, d], [a, d, c]]).transpose(2, 3, 0, 1).reshape(-1, 3)

    small = reduced(vertices, faces, 6_000)

    edge = (vertices[:, 0] % 20 == 0) | (vertices[:, 1] % 20 == 0)
    rows = {tuple(np.round(row, 6)) for row in small.vertices}
    assert {tuple(np.round(row, 6)) for row in vertices[edge]} <= rows


def test_two_at_once_come_out_as_one_after_another(ball):
    from concurrent.futures import ThreadPoolExecutor

    alone = reduced(ball.vertices, ball.faces, 9_000)
    with ThreadPoolExecutor(2) as pool:
        asked = [pool.submit(reduced, ball.vertices, ball.faces, 9_000) for _ in range(2)]

    assert all(np.array_equal(one.result().vertices, alone.vertices) for one in asked)
