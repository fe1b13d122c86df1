"""Is the clearance of a turned solid that of elementary geometry and of a naive twin?"""

import numpy as np
import pytest

from casework.measure.surfaces.turned import Turned, clearance
from tests.casework.measure.surfaces.test_cylinder import dense, soup
from tests.shapes import box, sphere

DRIVER = Turned.of((0.0, 2.0, 0.6), (2.0, 18.0, 1.0), (18.0, 26.0, 2.0))


@pytest.mark.parametrize(
    "at, gap, step",
    [
        ((1.3, -5, 5), 0.3, 1),  # a wall beside the shank
        ((-5, -5, 26.4), 0.4, 2),  # a roof over the end
        ((0.9, -5, -3), 0.3, 0),  # a wall beside the tip alone
        ((1.5, -5, 14), -0.5, 2),  # a wall in the handle
    ],
)
def test_box_beside_a_driver_is_as_far_as_its_nearest_side(at, gap, step):
    size = (10, 10, 12.5) if gap < 0 else (10, 10, 4)

    found = clearance(*box(*size, at=at), DRIVER)

    assert found.gap_mm == pytest.approx(gap, abs=0.0005)
    assert found.step == step


def test_edge_of_a_box_beyond_the_rim_is_reached_across_the_corner():
    # From the rim of the handle (2, 26) to an edge at (2.3, 26.4): 3-4-5.
    found = clearance(*box(10, 10, 5, at=(2.3, -5, 26.4)), DRIVER)

    assert found.gap_mm == pytest.approx(0.5, abs=0.0005)
    np.testing.assert_allclose(found.place_mm, [2.3, 0.0, 26.4], atol=0.03)


def test_ball_beside_the_shank():
    vertices, faces = sphere(3.0, sides=200)

    found = clearance(vertices + [4.5, 0, 10], faces, DRIVER)

    assert found.gap_mm == pytest.approx(0.5, abs=0.0005)


@pytest.mark.parametrize("seed", range(4))
def test_least_distance_agrees_with_points_all_over_the_triangles(seed):
    vertices, faces = soup(seed, 30)
    vertices = vertices + [0, 0, 10] + (seed % 2) * np.array([9.0, 0, 0])

    found = clearance(vertices, faces, DRIVER)

    points, best = dense(vertices, faces, 200), np.inf
    across = np.hypot(points[:, 0], points[:, 1])
    for low, high, radius in DRIVER.steps:
        out = across - radius
        along = np.maximum(low - points[:, 2], points[:, 2] - high)
        both = np.hypot(np.maximum(out, 0), np.maximum(along, 0))
        best = min(best, np.where(both > 0, both, np.maximum(out, along)).min())
    assert -0.0006 < best - found.gap_mm < 0.02


def test_a_solid_without_steps_or_a_surface_without_faces_has_no_clearance():
    vertices, faces = box()

    assert clearance(vertices, faces[:0], DRIVER) is None
    assert clearance(vertices, faces, Turned.of((2.0, 1.0, 1.0), (0.0, 1.0, 0.0))) is None
