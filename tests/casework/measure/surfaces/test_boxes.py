"""Is no triangle left out that may be nearest, and a slender one as soon as it is not?"""

import numpy as np
import pytest
import trimesh

from casework.measure.surfaces.boxes import is_beyond, rectangles

REACH_MM = 5.0


def drawn(slender):
    """Triangles whose third corner is nearer to the others the more slender they are."""
    random = np.random.default_rng(7)
    corners = random.uniform(0, 10, (300, 3, 3))
    corners[:, 2] = corners[:, 0] + slender * (corners[:, 2] - corners[:, 0])
    corners[:5, 1] = corners[:5, 0]  # one side without length
    return corners.reshape(-1, 3), np.arange(900, dtype=np.int32).reshape(-1, 3)


def distances(points, vertices, faces):
    """Of each point from each triangle, by trimesh (general reference library)."""
    triangles = np.repeat(vertices[faces][None], len(points), axis=0).reshape(-1, 3, 3)
    asked = np.repeat(points, len(faces), axis=0)
    on = trimesh.triangles.closest_point(triangles, asked)
    return np.linalg.norm(on - asked, axis=1).reshape(len(points), len(faces))


@pytest.mark.parametrize("slender", [1.0, 0.1, 0.001, 0.0])
def test_no_triangle_within_the_reach_is_left_out(slender):
    vertices, faces = drawn(slender)
    points = np.random.default_rng(8).uniform(-1, 11, (100, 3))
    low = np.full(3, -3.0)

    boxes = rectangles(vertices, faces, low, REACH_MM)

    true = distances(points, vertices, faces)
    for point, row in zip((points - low).astype(np.float32), true, strict=True):
        for box, away in zip(boxes, row, strict=True):
            assert away > REACH_MM or not is_beyond(*point, box, away)


def test_a_slender_triangle_is_left_out_a_hair_before_its_distance():
    vertices, faces = drawn(0.001)
    points = np.random.default_rng(8).uniform(-1, 11, (100, 3))
    low = np.full(3, -3.0)

    boxes = rectangles(vertices, faces, low, REACH_MM)

    true = distances(points, vertices, faces)
    for point, row in zip((points - low).astype(np.float32), true, strict=True):
        for box, away in zip(boxes, row, strict=True):
            assert away < 0.05 or is_beyond(*point, box, away - 0.02)
