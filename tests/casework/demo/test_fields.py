"""Are meshed shapes as sharp and as round as they were meant?"""

import numpy as np
import pytest
import trimesh

from casework.demo.meshes.fields import onto_edges, settle
from casework.demo.meshes.surface import surface_nets, triangles_of
from tests.shapes import rotation

STEP_MM = 0.1
START_MM = -2.0


def meshed(field, with_edges=True):
    axis = np.arange(START_MM, -START_MM, STEP_MM)
    grid = np.stack(np.meshgrid(axis, axis, axis, indexing="ij"), axis=-1)
    places, quads = surface_nets(field(grid.reshape(-1, 3)).reshape(grid.shape[:3]))
    points = settle(START_MM + places * STEP_MM, field, 0.3 * STEP_MM)
    if with_edges:
        cells = START_MM + (np.floor(places) + 0.5) * STEP_MM
        _, points = onto_edges(points, field, cells, STEP_MM)
    return trimesh.Trimesh(points, triangles_of(points, quads, field), process=False)


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_a_tilted_cube_has_its_volume_and_its_edges(seed):
    turn = rotation(seed)

    def cube(points):
        return np.abs(points @ turn).max(axis=1) - 1.0

    sharp, blunt = meshed(cube), meshed(cube, with_edges=False)

    assert np.abs(cube(sharp.vertices)).max() < 0.15 * STEP_MM
    assert sharp.volume == pytest.approx(8.0, rel=1e-3)
    assert blunt.volume < 8.0 * (1 - 3e-3)
    # An edge is where two of three coordinates are 1 (twelve of 2 mm).
    away = np.sort(1.0 - np.abs(sharp.vertices @ turn), axis=1)[:, 1]
    assert (away < 0.02 * STEP_MM).sum() > 12 * 2.0 / STEP_MM


def test_a_ball_stays_round():
    ball = meshed(lambda points: np.linalg.norm(points, axis=1) - 1.3)

    assert np.abs(np.linalg.norm(ball.vertices, axis=1) - 1.3).max() < 1e-4
