"""Has a form the surface that its dimensions say, and is a wrong one refused?"""

import numpy as np
import pytest

from casework.measure.scan_bodies.forms import form_from_dict, form_from_text, form_of_mesh
from tests.shapes import box, cylinder

FLAT = "diameter=4.5,height=8,flat_depth=0.7,flat_from=3.6,bevel=0.4"


def test_a_round_body_has_the_area_of_its_cylinder():
    """Wall and top: π d h + π d² / 4 (elementary geometry)."""
    form = form_from_text("diameter=5,height=7")
    assert form.areas.sum() == pytest.approx(np.pi * 5 * 7 + np.pi * 25 / 4, rel=1e-3)
    assert form.height_mm == pytest.approx(7) and form.turns == 0
    assert form.wall_radius_mm == pytest.approx(2.5, abs=0.001)


def test_a_tapered_body_has_the_area_of_its_frustum():
    """Wall of a frustum: π (R + r) s, its slant s by Pythagoras (elementary geometry)."""
    form = form_from_text("diameter=5,height=7,top_diameter=4")
    wall = np.pi * 4.5 * np.hypot(7, 0.5)
    assert form.areas.sum() == pytest.approx(wall + np.pi * 4, rel=1e-3)


def test_a_flat_takes_a_segment_away_and_adds_its_own_face():
    """The flat is a chord wide, 2 √(r² - c²), from where it begins to the top."""
    form = form_from_text("diameter=4.5,height=8,flat_depth=0.7,flat_from=3.6")
    toward = form.normals[:, 0] > 0.9999
    middles = form.vertices[form.faces].mean(axis=1)
    flat = form.areas[toward & (middles[:, 0] < 1.56)].sum()
    assert flat == pytest.approx(2 * np.sqrt(2.25**2 - 1.55**2) * 4.4, rel=2e-3)
    assert form.turns == 1


def test_a_bevel_to_one_side_is_asymmetric():
    form = form_from_text("diameter=4.2,height=9,slope=35,slope_depth=2")
    lean = np.degrees(np.arccos(np.clip(form.normals[:, 2], -1, 1)))
    assert form.turns == 1 and (np.abs(lean - 35) < 0.01).any()


def test_a_square_body_looks_the_same_after_every_quarter():
    vertices, faces = box(4, 4, 8, at=(-2, -2, 0))
    assert form_of_mesh(vertices, faces).turns == 4


def test_a_mesh_is_seen_from_its_platform_up():
    vertices, faces = cylinder(radius=2.25, height=8)
    form = form_of_mesh(vertices, faces)
    assert form.areas.sum() == pytest.approx(np.pi * 4.5 * 8 + np.pi * 2.25**2, rel=5e-3)


@pytest.mark.parametrize(
    "text,says",
    [
        ("height=8", "`diameter_mm`"),
        ("diameter=4.5,height=-1", "must"),
        ("diameter=4.5,height=8,flat_depth=3", "less than the radius"),
        ("diameter=4.5,height=8,flat_depth=0.7,flat_from=9", "less than `height_mm`"),
        ("diameter=4.5,height=8,slope=30", "come together"),
        ("diameter=4.5,height=8,hue=3", "“hue=3” is not known"),
        ("diameter=wide,height=8", "“wide” is no number"),
    ],
)
def test_wrong_dimensions_are_refused_in_a_sentence(text, says):
    with pytest.raises(ValueError, match=says):
        form_from_text(text)


def test_a_set_tells_the_same_form():
    told = form_from_dict(form_from_text(FLAT).as_dict())
    np.testing.assert_allclose(told.vertices, form_from_text(FLAT).vertices)


def test_a_mesh_far_off_its_platform_is_refused():
    vertices, faces = cylinder(radius=2.25, height=8)
    with pytest.raises(ValueError, match="stand on its platform"):
        form_of_mesh(vertices + [0, 0, 100.0], faces)


def test_a_wall_that_begins_below_the_platform_is_seen_from_the_platform_up():
    """Whole: π d h + π d² / 4; the wall's triangles reach from 4 mm below to the top."""
    vertices, faces = cylinder(radius=2.25, height=12)
    form = form_of_mesh(vertices - [0, 0, 4.0], faces)
    assert form.areas.sum() == pytest.approx(np.pi * 4.5 * 8 + np.pi * 2.25**2, rel=0.03)
    assert form.vertices[:, 2].min() > -0.8


def test_a_mesh_that_is_inside_out_is_refused():
    vertices, faces = cylinder(radius=2.25, height=8)
    with pytest.raises(ValueError, match="inside out"):
        form_of_mesh(vertices, faces[:, ::-1])


def test_a_mesh_that_encloses_nothing_is_refused():
    corners = np.array([[0.0, 0, 2], [0, 0, 1], [0, 0, 0]])
    with pytest.raises(ValueError, match="encloses nothing"):
        form_of_mesh(corners, np.array([[0, 1, 2]]))


def test_a_mesh_of_very_many_slivers_is_refused_before_it_fills_the_memory():
    vertices, faces = cylinder(radius=2.25, height=8, sides=20_000)
    with pytest.raises(ValueError, match="long, thin triangles"):
        form_of_mesh(vertices, faces)
