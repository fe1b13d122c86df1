"""Are the colours of a scan told with their spread?"""

import numpy as np
import pytest

from casework.measure.colour_spread import colour_of
from casework.measure.meshes import Mesh
from tests.shapes import box


def told(colours=None, face_colours=None):
    vertices, faces = box()
    return colour_of(Mesh(vertices, faces, colours, face_colours), subject="scan")


def test_a_scan_without_colours_says_so():
    assert not told().is_known and "no colours" in told().because


def test_one_colour_has_no_spread():
    one = told(np.full((8, 3), 200, np.uint8))

    assert one.value == 0 and one.details["is_one_colour"]


def test_spread_is_the_root_mean_square_distance_from_the_mean():
    half = np.repeat([[100, 50, 50], [200, 50, 50]], 4, axis=0).astype(np.uint8)

    assert told(half).value == pytest.approx(50)
    assert told(half).details["mean_red_green_blue"].tolist() == [150, 50, 50]


def test_colours_of_faces_count_where_vertices_have_none():
    faces = np.repeat([[0, 0, 10], [0, 0, 30]], 6, axis=0).astype(np.uint8)

    assert told(face_colours=faces).value == pytest.approx(10)
    assert not told(face_colours=faces).details["is_of_vertices"]
