"""Do points strewn over a surface stand for equal areas of it?"""

import numpy as np
import pytest

from casework.measure.surfaces.clouds import Cloud, strewn
from casework.measure.surfaces.normals import face_areas
from casework.measure.surfaces.refining import refined
from tests.shapes import box, tetrahedron


def test_each_side_of_a_box_gets_points_by_its_area():
    vertices, faces = box(10, 8, 6)

    points, face = strewn(vertices, faces, face_areas(vertices, faces), 9400)

    # 2 (80 + 60 + 48) mm2: 25 points a mm2.
    assert np.count_nonzero(points[:, 2] == 0) == pytest.approx(80 * 25, abs=4)
    assert np.count_nonzero(points[:, 0] == 0) == pytest.approx(48 * 25, abs=4)
    quarter = (points[:, 2] == 0) & (points[:, 0] < 5) & (points[:, 1] < 4)
    assert np.count_nonzero(quarter) == pytest.approx(500, rel=0.03)
    assert (face_areas(vertices, faces)[np.unique(face)] > 0).all()


def test_points_of_a_triangle_without_area_are_none():
    points, _ = strewn(np.zeros((3, 3)), np.array([[0, 1, 2]]), np.zeros(1), 100)

    assert len(points) == 0


def test_moments_are_those_of_the_surface():
    """A thin bar has nearly all of its second moment along itself: length² / 12."""
    vertices, faces = box(60, 0.5, 0.5)

    moments, axes = Cloud.of(vertices, faces, face_areas(vertices, faces)).moments

    assert moments[2] == pytest.approx(300, rel=0.02)
    assert abs(axes[0, 2]) > 0.999


def test_refining_keeps_form_area_and_the_first_corners():
    vertices, faces = tetrahedron(10, 7, 4)

    fine, smaller = refined(vertices, faces, 0.5)

    assert face_areas(fine, smaller).sum() == pytest.approx(face_areas(vertices, faces).sum())
    np.testing.assert_array_equal(fine[:4], vertices)
    sides = np.linalg.norm(fine[smaller] - fine[np.roll(smaller, -1, axis=1)], axis=2)
    assert np.quantile(sides, 0.95) <= 0.5
    assert len(np.unique(fine, axis=0)) == len(fine)


def test_a_fine_surface_is_left_as_it_is():
    vertices, faces = box(0.3, 0.3, 0.3)

    assert refined(vertices, faces, 0.5)[1] is faces
