"""Which faces does each face touch, told apart from where none is?"""

import numpy as np
import trimesh

from casework.measure.surfaces.touching import faces_across
from tests.shapes import box, torus


def test_closed_bodies_touch_as_the_reference_library_says():
    for vertices, faces in (box(), torus()):
        across = faces_across(faces, len(vertices))

        pairs = {tuple(sorted((f, g))) for f, row in enumerate(across) for g in row}
        known = trimesh.Trimesh(vertices, faces, process=False).face_adjacency
        assert pairs == {tuple(sorted(pair)) for pair in known.tolist()}


def test_the_face_beyond_an_edge_holds_both_of_its_corners():
    vertices, faces = torus()
    across = faces_across(faces, len(vertices))
    for k in range(3):
        edge = faces[:, [k, (k + 1) % 3]]
        beyond = faces[across[:, k]]
        assert (edge[:, :, None] == beyond[:, None]).any(axis=2).all()


def test_an_edge_with_one_face_has_none_beyond():
    assert (faces_across(np.array([[0, 1, 2]]), 3) == -1).all()


def test_an_edge_of_three_faces_is_no_border():
    faces = np.array([[0, 1, 2], [1, 0, 3], [0, 1, 4]])
    across = faces_across(faces, 5)
    assert (across[:, 0] >= 0).all() and (across[:, 1:] == -1).all()
