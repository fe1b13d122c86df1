"""Is the motion that carries a surface onto another found where noise turns its normals?"""

from dataclasses import replace

import numpy as np
import pytest

from casework.demo.meshes.arches import lower_arch
from casework.measure.surfaces.poses import Rigid
from casework.measure.surfaces.sampled import Sampled
from casework.measure.surfaces.searching import Search
from tests.shapes import rotation


@pytest.fixture(scope="module")
def cloud():
    scan = lower_arch(29, ("45", "46", "47"), triangles=20_000)
    return Sampled(scan.vertices, scan.faces).cloud


def with_noise(cloud, seed):
    """Normals as of faces 0.2 mm long with 50 µm of noise: 0.05 sqrt(2) / 0.2 rad each way."""
    tilt = np.random.default_rng(seed).normal(0, 0.35, cloud.normals.shape)
    normals = cloud.normals + tilt
    return replace(cloud, normals=normals / np.linalg.norm(normals, axis=1)[:, None])


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_the_motion_is_found_where_noise_turns_the_normals(cloud, seed):
    away = Rigid(rotation(seed), np.array([20.0, -30, 10]))
    moved = with_noise(cloud, seed).moved(away)

    share, found = Search(with_noise(cloud, 9), cloud.size_mm).candidates(moved)[0]

    off = np.linalg.norm(found.apply(moved.points) - cloud.points, axis=1)
    # The whole of it lies on the other: next to every point tried has to count.
    assert share > 0.9 and off.max() < 1.5
