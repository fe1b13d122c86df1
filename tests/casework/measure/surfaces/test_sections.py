"""Is what a plane cuts out of a body what elementary geometry says it is?"""

import manifold3d
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from casework.measure.surfaces.sections import Sections
from tests.shapes import (
    bar,
    box,
    cylinder,
    ellipsoid,
    joined,
    polygon_share,
    rotation,
    sphere,
    torus,
    tube,
)


def test_a_cylinder_cut_across_is_a_polygon():
    section = Sections(*cylinder(5.0, 6.0, 64)).cut((0, 0, 2.5), (0, 0, 1))

    assert section.area_mm2 == pytest.approx(25 * np.pi * polygon_share(64), rel=1e-12)
    side = 10 * np.sin(np.pi / 64)
    assert section.perimeter_mm == pytest.approx(64 * side, rel=1e-12)
    np.testing.assert_allclose(section.centroid_mm, (0, 0, 2.5), atol=1e-12)
    assert section.gap_mm == 0


@given(st.integers(0, 10**6), st.floats(0, 60))
@settings(max_examples=25, deadline=None)
def test_a_tilted_cut_of_a_cylinder_is_larger_by_the_tilt(seed, tilt_deg):
    turn = rotation(seed)
    vertices, faces = cylinder(2.0, 40.0, 48)
    tilt = np.radians(tilt_deg)
    normal = turn @ np.array([np.sin(tilt), 0, np.cos(tilt)])

    section = Sections(vertices @ turn.T, faces).cut(turn @ np.array([0, 0, 20.0]), normal)

    expected = 4 * np.pi * polygon_share(48) / np.cos(tilt)
    assert section.area_mm2 == pytest.approx(expected, rel=1e-9)


def test_the_circles_of_an_ellipsoid_are_its_area():
    section = Sections(*ellipsoid((4, 5, 6), 400)).cut((0, 0, 3), (0, 0, 1), up=(0, 1, 0))

    assert section.area_mm2 == pytest.approx(np.pi * 4 * 5 * (1 - 0.25), rel=2e-4)
    assert section.extent_mm(np.array([0, 1.0, 0])) == pytest.approx(
        10 * np.sqrt(0.75), rel=1e-4
    )
    # The size of what the chords miss, not its digits.
    missed = np.pi * 4 * 5 * 0.75 - section.area_mm2
    assert 1 / 3 < section.facet_error_mm2 / missed < 3


def test_a_hole_is_taken_off_and_belongs_to_its_outline():
    section = Sections(*tube(5, 3, 6, 64)).cut((0, 0, 2), (0, 0, 1))

    assert section.area_mm2 == pytest.approx(16 * np.pi * polygon_share(64), rel=1e-12)
    assert sorted(np.sign(section.loop_areas)) == [-1, 1]
    assert section.around((0, 0, 2)).area_mm2 == section.area_mm2


def test_one_of_two_outlines_is_taken_by_its_place():
    cuts = Sections(*torus(10, 2, 96, 48))
    section = cuts.cut((0, 0, 0), (0, 1, 0))
    one = section.around((9, 0, 0))

    assert section.area_mm2 == pytest.approx(2 * one.area_mm2)
    assert one.centroid_mm[0] == pytest.approx(10, abs=0.01)
    assert section.near((10, 0, 0), 5.0).area_mm2 == one.area_mm2
    assert section.near((0, 0, 0), 9.0).area_mm2 == section.area_mm2


@pytest.mark.parametrize("seed", range(4))
def test_areas_are_those_of_a_general_library(seed):
    # manifold3d: slices across z of a body turned so that the plane lies across z.
    turn = rotation(seed)
    vertices, faces = torus(9, 3, 60, 40)
    body = manifold3d.Manifold(
        manifold3d.Mesh((vertices @ turn.T).astype(np.float32), faces.astype(np.uint32))
    )
    cuts = Sections((vertices @ turn.T).astype(np.float32), faces)
    for height in (-5.0, 0.3, 4.0):
        section = cuts.cut((0, 0, height), (0, 0, 1))
        assert section.area_mm2 == pytest.approx(body.slice(height).area(), rel=1e-5)


def test_bodies_that_overlap_are_cut_as_one():
    boxes = box(10, 8, 6), box(4, 2, 2, at=(8, 3, 2)), box(10, 8, 6, at=(12, 0, 0))
    cuts = Sections(*joined(*boxes))
    flat, across = cuts.cut((9, 4, 3), (0, 0, 1)), cuts.cut((11, 4, 3), (1, 0, 0))

    # Two faces of 10 x 8 and the 2 x 2 of the bar between them.
    assert flat.area_mm2 == pytest.approx(164, rel=1e-5)
    assert flat.perimeter_mm == pytest.approx(2 * 36 - 2 * 2 + 2 * 2, rel=1e-5)
    assert len(flat.loops_mm) == 1
    assert across.area_mm2 == pytest.approx(4)


def test_two_overlapping_balls_cut_their_lens_once():
    one, two = sphere(3.0, 200), sphere(3.0, 200)
    cuts = Sections(*joined(one, (two[0] + [4.0, 0, 0], two[1])))

    section = cuts.cut((0, 0, 0), (0, 0, 1))

    lens = 2 * 9 * np.arccos(2 / 3) - 2 * np.sqrt(36 - 16)  # of two circles 4 apart, radius 3
    assert section.area_mm2 == pytest.approx(2 * 9 * np.pi - lens, rel=5e-4)


def test_bodies_that_share_a_face_are_cut_as_one():
    cuts = Sections(*joined(box(10, 8, 6), box(2, 8, 6, at=(10, 0, 0))))

    assert cuts.cut((5, 4, 3), (0, 0, 1)).area_mm2 == pytest.approx(96, rel=1e-5)


def test_turned_and_doubled_triangles_do_not_count():
    vertices, faces = tube(5, 3, 6, 64)
    random = np.random.default_rng(0)
    turned = random.random(len(faces)) < 0.3
    faces[turned] = faces[turned][:, ::-1]
    faces = np.vstack([faces, faces[::7], faces[::11][:, ::-1]])

    section = Sections(vertices, faces).cut((0, 0, 2), (0, 0, 1))

    assert section.area_mm2 == pytest.approx(16 * np.pi * polygon_share(64), rel=0.02)


def test_a_body_turned_inside_out_has_the_same_section():
    vertices, faces = ellipsoid((3, 4, 5), 60)
    normal = (1, 2, 3)
    one = Sections(vertices, faces).cut((0.5, 0, 0), normal)
    other = Sections(vertices, faces[:, ::-1]).cut((0.5, 0, 0), normal)

    assert other.area_mm2 == pytest.approx(one.area_mm2, rel=1e-12)


def test_a_gap_in_the_surface_is_bridged_and_told():
    vertices, faces = cylinder(5.0, 6.0, 64)
    wall = np.flatnonzero(np.ptp(vertices[faces][:, :, 2], axis=1) > 5)
    faces = np.delete(faces, wall[:2], axis=0)

    section = Sections(vertices, faces).cut((0, 0, 2.5), (0, 0, 1))

    side = 10 * np.sin(np.pi / 64)
    assert section.gap_mm == pytest.approx(side, rel=1e-6)
    # The chord that closes the gap is the side that was taken away.
    assert section.area_mm2 == pytest.approx(25 * np.pi * polygon_share(64), rel=1e-9)


def test_nothing_is_cut_beside_a_body():
    section = Sections(*box()).cut((0, 0, 7), (0, 0, 1))

    assert section.is_empty
    assert section.area_mm2 == 0
    assert section.centroid_mm is None
    assert section.around((0, 0, 7)).is_empty
    assert Sections(np.empty((0, 3)), np.empty((0, 3), int)).cut((0, 0, 0), (0, 0, 1)).is_empty


@pytest.mark.parametrize("seed", range(3))
def test_faces_kept_for_tilted_planes_are_enough(seed):
    random = np.random.default_rng(seed)
    body = joined(ellipsoid((4, 5, 6), 40), bar((0, 0, 0), (12, 0, 0)), sphere(2.0, 24))
    whole = Sections(*body)
    some = whole.within((3, 0, 0), (1, 0, 0), 1.5, 25.0)

    assert 0 < len(some.faces) < len(whole.faces)
    for _ in range(20):
        shift, tilt, turn = (
            random.uniform(-1.5, 1.5),
            random.uniform(0, 25),
            random.uniform(0, 7),
        )
        slope = np.tan(np.radians(tilt))
        normal = np.array([1, slope * np.cos(turn), slope * np.sin(turn)])
        origin = (3 + shift, 0, 0)
        # Bodies that overlap are drawn larger by a millionth, in the order of their loops.
        expected = whole.cut(origin, normal).area_mm2
        assert some.cut(origin, normal).area_mm2 == pytest.approx(expected, rel=4e-6)
