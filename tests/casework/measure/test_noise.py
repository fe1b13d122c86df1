"""Is the noise that was put on a surface found again, and is a smoothed one told?"""

import numpy as np
import pytest

from casework.demo.meshes.arches import lower_arch
from casework.measure.noise import NOISE, noise_level, noise_of
from casework.measure.surfaces.normals import vertex_normals
from casework.measure.surfaces.smoothing import smoothed
from tests.shapes import box, rotation, sheet, sphere


def trembling(vertices, faces, sigma_um, seed=0):
    amount = np.random.default_rng(seed).normal(0, sigma_um / 1000, len(vertices))
    return vertices + vertex_normals(vertices, faces) * amount[:, None]


@pytest.mark.parametrize("sigma_um", [5, 20, 50])
def test_noise_put_on_a_curved_sheet_is_found_within_a_tenth(sigma_um):
    # 0.2 mm edges on waves of 1 mm and 1 mm radius of curvature.
    vertices, faces = sheet(cells=100, size=20.0)

    level = noise_level(trembling(vertices, faces, sigma_um), faces)

    assert level.sigma_um == pytest.approx(sigma_um, rel=0.1)
    assert not level.is_upper_bound


@pytest.mark.parametrize(
    ("sigma_um", "triangles"), [(5, 110_000), (20, 250_000), (50, 110_000)]
)
def test_noise_of_a_dental_arch_is_found_within_fifteen_percent(sigma_um, triangles):
    scan = lower_arch(5, triangles=triangles, noise_um=sigma_um, noise_seed=1)

    level = noise_level(scan.vertices, scan.faces)

    assert level.sigma_um == pytest.approx(sigma_um, rel=0.15)
    assert abs(level.sigma_um - sigma_um) < 2 * level.uncertainty_um
    assert not level.is_upper_bound


def test_a_smoothed_scan_reads_at_most():
    vertices, faces = sheet(cells=100, size=20.0)
    smooth = smoothed(trembling(vertices, faces, 20), faces, 3)

    told = noise_of("lower", smooth, faces)

    assert told.details["reads"] == "at most" and told.details["is_smoothed"]
    assert told.value < 10


def test_a_design_reads_at_most_next_to_nothing():
    vertices, faces = sphere(5.0, 128)

    told = noise_of("crown", vertices, faces)

    assert told.details["reads"] == "at most" and told.value < 1


def test_noise_does_not_depend_on_where_the_scan_lies():
    vertices, faces = sheet(cells=60, size=12.0)
    noisy = trembling(vertices, faces, 20)

    moved = noise_level(noisy @ rotation(3).T + [300, -200, 90], faces)

    assert moved.sigma_um == pytest.approx(noise_level(noisy, faces).sigma_um, rel=1e-3)


def test_only_the_part_asked_about_is_told():
    vertices, faces = sheet(cells=100, size=20.0)
    is_left = vertices[:, 0] < 10
    noisy = np.where(
        is_left[:, None], trembling(vertices, faces, 40), trembling(vertices, faces, 8)
    )

    assert noise_level(noisy, faces, vertices[:, 0] < 9).sigma_um == pytest.approx(40, rel=0.1)
    assert noise_level(noisy, faces, vertices[:, 0] > 11).sigma_um == pytest.approx(8, rel=0.1)


@pytest.mark.parametrize("body", [box(), (np.zeros((0, 3)), np.zeros((0, 3), int))])
def test_a_surface_of_a_few_triangles_has_no_known_noise(body):
    told = noise_of("box", *body)

    assert told.quantity == NOISE.name and not told.is_known and "Too few" in told.because
