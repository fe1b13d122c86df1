"""Directions of invented arches, whose x points to the right, y to the front, z up."""

import numpy as np
import pytest
import trimesh

from casework.demo.meshes.arches import lower_arch, upper_arch
from casework.measure.surfaces.poses import Rigid
from casework.previews.directions import facing_of, front_of


@pytest.fixture(params=[1, 2, 3, 4, 5])
def motion(request):
    turn = trimesh.transformations.random_rotation_matrix(
        np.random.default_rng(request.param).uniform(size=3)
    )
    return request.param, Rigid(turn[:3, :3], np.array([40.0, -7.0, 12.0]))


@pytest.mark.parametrize(
    ("arch", "missing", "up"),
    [(lower_arch, (), 1), (lower_arch, ("45", "46", "47"), 1), (upper_arch, (), -1)],
)
def test_a_whole_arch_shows_its_teeth_and_its_front(arch, missing, up, motion):
    seed, moved = motion
    mesh = arch(seed, missing=missing, triangles=8000)
    places = moved.apply(mesh.vertices)

    facing = facing_of(places, mesh.faces)
    front = front_of(places, facing)

    assert facing @ moved.turn(np.array([[0.0, 0.0, up]]))[0] > 0.99
    assert front @ moved.turn(np.array([[0.0, 1.0, 0.0]]))[0] > 0.97


def test_a_part_of_an_arch_tells_no_front():
    mesh = lower_arch(1, span=("33", "37"), triangles=6000)

    assert front_of(mesh.vertices, facing_of(mesh.vertices, mesh.faces)) is None


def test_a_closed_body_faces_nowhere_and_says_so_by_the_last_axis():
    ball = trimesh.creation.icosphere(3)

    assert facing_of(ball.vertices, ball.faces) == pytest.approx([0, 0, 1])
