"""Is a part that is turned inside out, whole or in places, measured as it was meant?"""

from itertools import product

import numpy as np
import pytest
import trimesh

from casework.measure.surfaces.outward import wound_alike
from tests.shapes import box, joined, sheet, sphere, tube

CAVITY = joined(sphere(5.0), tuple((sphere(2.0)[0], sphere(2.0)[1][:, ::-1])))
TWO = joined(box(), box(at=(30.0, 0.0, 0.0)))


def volume(vertices, faces):
    """By a second library."""
    return float(trimesh.Trimesh(vertices, faces, process=False).volume)


@pytest.mark.parametrize(
    ("body", "harm"),
    [(TWO, "first piece"), *product([box(), tube(), CAVITY, TWO], ["none", "whole", "some"])],
)
def test_a_solid_gets_its_outside_back(body, harm):
    vertices, faces = body
    spoilt = faces.copy()
    which = {
        "none": np.zeros(len(faces), bool),
        "whole": np.ones(len(faces), bool),
        "some": np.random.default_rng(1).random(len(faces)) < 0.2,
        "first piece": np.arange(len(faces)) < len(faces) // 2,
    }[harm]
    spoilt[which] = spoilt[which][:, ::-1]

    found = wound_alike(vertices, spoilt, is_solid=True)

    assert volume(vertices, found) == pytest.approx(volume(vertices, faces), rel=1e-9)


def test_an_open_scan_keeps_the_side_that_most_of_it_says():
    vertices, faces = sheet()
    spoilt = faces.copy()
    spoilt[::7] = spoilt[::7][:, ::-1]

    found = wound_alike(vertices, spoilt, is_solid=False)
    over = wound_alike(vertices, faces[:, ::-1], is_solid=False)

    up = np.cross(*(np.diff(vertices[found], axis=1).transpose(1, 0, 2)))[:, 2]
    down = np.cross(*(np.diff(vertices[over], axis=1).transpose(1, 0, 2)))[:, 2]
    assert (np.sign(up) == np.sign(up[0])).all() and (np.sign(down) == -np.sign(up[0])).all()


def test_a_surface_that_is_sound_is_handed_back_as_it_is():
    vertices, faces = box()

    assert wound_alike(vertices, faces, is_solid=True) is faces
