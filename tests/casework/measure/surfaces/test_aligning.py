"""Does the registration find the known motion, and is its stated doubt the real one?"""

import numpy as np
import pytest
from scipy.spatial.transform import Rotation
from scipy.stats import chi2

from casework.measure.surfaces.aligning import align, radius_95
from casework.measure.surfaces.nearest import Nearest
from casework.measure.surfaces.normals import face_normals, vertex_normals
from casework.measure.surfaces.poses import Rigid
from casework.measure.surfaces.shading import corner_normals
from tests.shapes import box, cylinder, sheet


def known_motion(random, shift_mm, turn_deg, about):
    turn = random.normal(size=3)
    turn *= np.radians(turn_deg) / np.linalg.norm(turn)
    shift = random.normal(size=3)
    shift *= shift_mm / np.linalg.norm(shift)
    rotation = Rotation.from_rotvec(turn).as_matrix()
    return Rigid(rotation, about + shift - rotation @ about)


def points_on(random, vertices, faces, count):
    """Points spread evenly over a surface, with the normals of their faces."""
    corners = vertices[faces]
    areas = np.linalg.norm(
        np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]), axis=1
    )
    chosen = random.choice(len(faces), count, p=areas / areas.sum())
    shares = random.dirichlet([1, 1, 1], count)
    return np.einsum("ki,kix->kx", shares, corners[chosen]), face_normals(vertices, faces)[
        chosen
    ]


@pytest.mark.parametrize("seed", range(5))
def test_a_moved_copy_comes_back_exactly(seed):
    random = np.random.default_rng(seed)
    vertices, faces = sheet(cells=120)
    motion = known_motion(random, 1.0, 2.0, vertices.mean(axis=0))
    moved = motion.inverse().apply(vertices)

    found = align(
        moved, vertex_normals(moved, faces), Nearest(vertices, faces, 3.0), Rigid.none()
    )

    np.testing.assert_allclose(found.rigid.apply(moved), vertices, atol=1e-5)
    assert found.is_held and found.share > 0.99


def test_a_third_of_the_points_that_changed_does_not_pull():
    random = np.random.default_rng(8)
    vertices, faces = sheet(cells=120)
    motion = known_motion(random, 0.3, 1.0, vertices.mean(axis=0))
    changed = vertices + random.normal(0, 0.01, vertices.shape)
    changed[np.abs(vertices[:, 0] - 35) < 10, 2] += 0.4
    moved = motion.inverse().apply(changed)

    found = align(
        moved, vertex_normals(moved, faces), Nearest(vertices, faces, 2.0), Rigid.none()
    )

    error = found.rigid.apply(motion.inverse().apply(vertices)) - vertices
    assert np.linalg.norm(error, axis=1).max() < 0.002
    assert 0.6 < found.share < 0.7


def test_part_of_a_surface_is_not_drawn_to_the_border_of_the_other():
    vertices, faces = sheet(cells=120)
    half = faces[(vertices[faces][:, :, 0] < 35).all(axis=1)]
    motion = known_motion(np.random.default_rng(3), 0.5, 0.5, vertices.mean(axis=0))
    moved = motion.inverse().apply(vertices)

    found = align(
        moved, vertex_normals(moved, faces), Nearest(vertices, half, 2.0), Rigid.none()
    )

    np.testing.assert_allclose(found.rigid.apply(moved), vertices, atol=1e-4)


def test_the_turn_of_a_round_body_is_held_by_nothing():
    vertices, faces = cylinder(sides=180)
    random = np.random.default_rng(0)
    points, normals = points_on(random, vertices, faces, 2000)
    found = align(
        points, normals, Nearest(vertices, faces, 1.0), Rigid.none(),
        corner_normals=corner_normals(vertices, faces),
    )  # fmt: skip

    assert not found.is_held
    assert radius_95(found.turn_covariance[2:, 2:]) > 10  # more than a whole turn
    assert radius_95(found.turn_covariance[:2, :2]) < 1e-3


def test_nothing_near_is_no_alignment():
    vertices, faces = box()
    far = vertices + 100
    assert (
        align(far, vertex_normals(far, faces), Nearest(vertices, faces, 1.0), Rigid.none())
        is None
    )


def stated_and_real(seed, noise_mm, count):
    """One small fit of noisy points on a box: errors of a place and of the turn, and both 95 %.

    Corners are moved along normals by white noise, as vertices of a scan are.
    """
    random = np.random.default_rng([seed, 77])
    vertices, faces = box(6, 5, 4)
    points, normals = points_on(random, vertices, faces, count)
    motion = known_motion(random, 0.05, 0.5, np.array([3.0, 2.5, 2.0]))
    noisy = points + random.normal(0, noise_mm, count)[:, None] * normals
    back = motion.inverse()
    inner = np.ones(len(points), bool)
    for axis, size in enumerate((6, 5, 4)):
        across = np.abs(normals[:, axis]) < 0.5
        inner &= ~across | ((points[:, axis] > 0.3) & (points[:, axis] < size - 0.3))
    found = align(
        back.apply(noisy)[inner], back.turn(normals)[inner], Nearest(vertices, faces, 0.6),
        Rigid.none(),
    )  # fmt: skip
    place = np.array([3.0, 2.5, -4.0])
    error = found.rigid.apply(back.apply(place[None]))[0] - place
    turn = found.rigid.after(back)
    return (
        np.linalg.norm(error),
        radius_95(found.shift_covariance(place)),
        np.radians(turn.angle_deg),
        radius_95(found.turn_covariance),
    )


def test_95_of_100_errors_lie_within_the_stated_doubt():
    rows = np.array(
        [stated_and_real(seed, (0.01, 0.02, 0.05)[seed % 3], 400) for seed in range(1000)]
    )
    assert 0.93 <= np.mean(rows[:, 0] <= rows[:, 1]) <= 0.97
    assert 0.93 <= np.mean(rows[:, 2] <= rows[:, 3]) <= 0.97


@pytest.mark.parametrize("spreads", [(1, 1, 1), (1, 0.5, 0.2), (1, 0.01, 0.01), (2, 2, 0)])
def test_the_radius_of_95_percent_holds_95_percent(spreads):
    covariance = np.diag(np.square(spreads).astype(float))
    drawn = np.random.default_rng(5).normal(0, spreads, (200_000, 3))
    expected = np.quantile(np.linalg.norm(drawn, axis=1), 0.95)
    assert radius_95(covariance) == pytest.approx(expected, rel=0.02)


def test_the_radius_of_equal_spreads_is_that_of_chi_square():
    # W. H. Press and others, Numerical Recipes: the error ellipsoid of k parameters.
    for k in (1, 2, 3):
        assert radius_95(np.eye(k)) == pytest.approx(np.sqrt(chi2.ppf(0.95, k)), rel=1e-9)
