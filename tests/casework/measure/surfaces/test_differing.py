"""Are the distances between two surfaces those of a general library, and their noise known?"""

import numpy as np
import pytest
from scipy.spatial import cKDTree

from casework.measure.surfaces.differing import regions, seen_from
from casework.measure.surfaces.fields import without_noise
from casework.measure.surfaces.poses import Rigid
from casework.measure.surfaces.refining import refined
from casework.measure.surfaces.sampled import Sampled
from tests.shapes import sheet, sphere


def seen(one, other):
    return (
        seen_from(one, other, Rigid.none(), one.vertices, -1.0),
        seen_from(other, one, Rigid.none(), other.vertices, 1.0),
    )


def test_distances_agree_with_a_search_tree_of_the_finely_cut_surface():
    vertices, faces = sheet(cells=60, size=12.0)
    moved = vertices + [0.02, 0.03, 0.11]
    fine, _ = refined(vertices, faces, 0.02)
    inner = ((moved > 1) & (moved < 11))[:, :2].all(axis=1)

    _, after = seen(Sampled(vertices, faces), Sampled(moved, faces))

    truth = cKDTree(fine).query(moved[inner])[0]
    # Corners of the cut surface lie at most 0.04 mm beside the nearest place.
    assert np.all(np.abs(after.raw_mm[inner]) <= truth + 1e-9)
    assert np.all(
        np.abs(after.raw_mm[inner]) >= np.sqrt(np.maximum(truth**2 - 0.04**2, 0)) - 1e-9
    )
    assert (after.raw_mm[inner] > 0).all()


def test_a_larger_ball_is_outside_all_around():
    one, other = Sampled(*sphere(5.0, 96)), Sampled(*sphere(5.2, 96))

    before, after = seen(one, other)

    np.testing.assert_allclose(after.raw_mm, 0.2, atol=0.004)
    np.testing.assert_allclose(before.raw_mm, 0.2, atol=0.004)
    (whole,) = regions(before, after)
    assert whole.kind == "moved out" and whole.peak_mm == pytest.approx(0.2, abs=0.004)
    assert whole.area_mm2 == pytest.approx(4 * np.pi * 5.2**2, rel=0.01)
    assert whole.span_mm == pytest.approx(10.4, abs=0.3)


def test_noise_left_in_a_smoothed_field_is_known():
    surface = Sampled(*sheet(cells=100, size=20.0))
    noisy = np.random.default_rng(1).normal(0, 0.02, len(surface.vertices))

    smooth, left = without_noise(noisy, surface, 0.2)

    assert left == pytest.approx(np.std(smooth), rel=0.1)
    assert left < 0.012


def test_a_broad_hill_survives_smoothing():
    surface = Sampled(*sheet(cells=100, size=20.0))
    away = np.linalg.norm(surface.vertices[:, :2] - 10, axis=1)
    hill = 0.15 * np.exp(-(away**2) / 2)
    noisy = hill + np.random.default_rng(2).normal(0, 0.01, len(hill))

    smooth, left = without_noise(noisy, surface, 0.2)

    assert smooth.max() == pytest.approx(0.15, abs=4 * left)
    assert abs(smooth - hill)[away < 8].max() < 6 * left


def test_a_field_without_noise_and_one_with_gaps_keep_what_they_have():
    surface = Sampled(*sheet(cells=40, size=8.0))
    plain = surface.vertices[:, 0] * 0.01
    gaps = np.random.default_rng(3).normal(0, 0.02, len(plain))
    gaps[surface.vertices[:, 0] > 4] = np.nan

    assert without_noise(plain, surface, 0.2)[0] is plain
    smooth, _ = without_noise(gaps, surface, 0.2)
    np.testing.assert_array_equal(np.isnan(smooth), np.isnan(gaps))
