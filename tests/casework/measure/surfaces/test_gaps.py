"""Are surfaces cleared of islands and noise without losing their form, and asked both ways?"""

import numpy as np
import pytest

from casework.measure.surfaces.gaps import (
    Meeting,
    design_surface,
    far_distance,
    scan_surface,
    signed_distances,
    without_noise,
)
from casework.measure.surfaces.nearest import Nearest
from tests.shapes import box, joined, sphere


@pytest.mark.parametrize("noise_mm", [0.01, 0.03])
def test_noise_is_estimated_and_taken_off(noise_mm):
    vertices, faces = sphere(4.0, 150)
    amount = np.random.default_rng(1).normal(0, noise_mm, len(vertices))
    noisy = vertices * (1 + amount / 4.0)[:, None]

    smooth = without_noise(scan_surface(noisy, faces))

    away = np.linalg.norm(smooth.vertices, axis=1) - 4.0
    # Near the poles of this mesh the triangles are small and little is smoothed.
    band = np.abs(vertices[:, 2]) < 2
    assert smooth.noise_mm == pytest.approx(noise_mm, rel=0.25)
    assert away[band].std() < 0.5 * noise_mm
    assert abs(away[band].mean()) < 0.15 * noise_mm


def test_a_model_stays_as_it_is():
    for body in (box(), sphere(4.0, 100)):
        surface = scan_surface(*body)
        assert without_noise(surface).vertices is surface.vertices


def test_sharp_edges_are_not_rounded():
    n = 60
    steps = np.linspace(-3, 3, n + 1)
    x, y = np.meshgrid(steps, steps, indexing="ij")
    roof = np.stack([x, y, -np.abs(x)], axis=-1).reshape(-1, 3)
    roof[:, 2] += np.random.default_rng(0).normal(0, 0.01, len(roof))
    i = (np.arange(n)[:, None] * (n + 1) + np.arange(n)[None, :]).ravel()
    faces = np.vstack(
        [np.stack([i, i + n + 1, i + n + 2], 1), np.stack([i, i + n + 2, i + 1], 1)]
    )

    smooth = without_noise(scan_surface(roof, faces))

    ridge = smooth.vertices[np.abs(roof[:, 0]) < 0.01]
    assert ridge[:, 2].mean() > -0.06


def test_small_islands_of_a_scan_go_and_pieces_of_a_design_stay():
    both = joined(box(), box(0.3, 0.3, 0.3, at=(20, 0, 0)))

    assert len(scan_surface(*both).faces) == 12
    assert len(scan_surface(*both).dropped) == 1
    assert len(design_surface(*both).faces) == 24


@pytest.mark.parametrize("reach_mm", [0.5, 2.0])
def test_no_face_within_reach_is_left_out(reach_mm):
    one, other = scan_surface(*sphere(5.0, 80)), scan_surface(*box(4, 4, 4, at=(5.2, -2, -2)))

    near = one.near(other, reach_mm)

    assert 0 < len(near.faces) < len(one.faces)
    away = Nearest(other.vertices, other.faces, reach_mm).closest(one.vertices).distance_mm
    kept = {tuple(place) for place in near.vertices}
    assert all(tuple(place) in kept for place in one.vertices[np.isfinite(away)])


def test_far_surfaces_are_measured_however_far():
    one, other = sphere(4.0, 120), sphere(3.0, 120)
    shifted = other[0] + np.array([30.0, 40.0, 0])

    distance, here, there = far_distance(scan_surface(*one), scan_surface(shifted, other[1]))

    assert distance == pytest.approx(50 - 7, abs=0.01)
    np.testing.assert_allclose(here, [2.4, 3.2, 0], atol=0.15)
    assert np.linalg.norm(there - here) == pytest.approx(distance)


def test_both_surfaces_are_asked():
    # The point of the cone is a vertex; the plate has none near it.
    plate = design_surface(*box(20, 20, 1))
    needle = design_surface(
        np.array([[9.0, 9, 5], [11, 9, 5], [10, 11, 5], [10.03, 10.01, 1.2]]),
        np.array([[0, 1, 2], [0, 3, 1], [1, 3, 2], [2, 3, 0]]),
    )

    for pair in ((plate, needle), (needle, plate)):
        assert Meeting(*pair, 1.0).least()[0] == pytest.approx(0.2, abs=1e-9)


def test_nothing_within_reach_is_none():
    assert Meeting(scan_surface(*box()), scan_surface(*box(at=(0, 0, 9))), 1.0).least() is None


def test_beside_a_rim_nothing_is_inside():
    sheet = Nearest(np.array([[0.0, 0, 0], [4, 0, 0], [0, 4, 0]]), np.array([[0, 1, 2]]), 3.0)

    distances = signed_distances(np.array([[1.0, 1, -1], [-1, 1, -0.5]]), sheet)

    np.testing.assert_allclose(distances, [-1, np.hypot(1, 0.5)])
