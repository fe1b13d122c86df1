"""Is an abutment taken apart rightly, whichever way it lies and whoever made it?"""

import numpy as np
import pytest

from casework.benchmark.turned_parts import TurnedParts, turned
from casework.demo.meshes import custom_abutment
from casework.measure.margins import margin_depth, measure_post
from casework.measure.post_axis import settled_axis
from casework.measure.post_reading import BORE, EMERGENCE, SHOULDER, TOP, WALL
from casework.measure.posts import find_post
from casework.measure.surfaces.poses import Pose, Rigid
from tests.shapes import box, joined, rotation, sheet, sphere

ORIGIN = np.array([12.0, -7.0, 31.0])


def placed(vertices, seed=3):
    """A body turned and shifted anywhere, and its implant's pose."""
    rigid = Rigid(rotation(seed), ORIGIN)
    return rigid.apply(vertices), Pose.of(ORIGIN, rigid.rotation[:, 2], rigid.rotation[:, 0])


def margin_errors(post, implant, parts, squash=1.0):
    """How far the margin found is from the circle or ellipse of the parts."""
    local = implant.to_local(post.margin_mm)
    ring = np.hypot(local[:, 0], local[:, 1] / squash)
    return np.abs(local[:, 2] - parts.margin_height).max(), ring


SHAPES = {
    "shoulder": TurnedParts(),
    "chamfer": TurnedParts(chamfer=0.5),
    "knife edge": TurnedParts(shoulder=0.0, taper_deg=6.0),
    "no bore": TurnedParts(bore_radius=0.0),
    "few facets": TurnedParts(sides=16),
    "straight collar": TurnedParts(platform_radius=3.0),
    "short post": TurnedParts(post_height=3.0),
}


@pytest.mark.parametrize("told", [True, False])
@pytest.mark.parametrize("name", SHAPES)
def test_the_margin_is_the_edge_that_the_profile_has(name, told):
    parts = SHAPES[name]
    vertices, faces = parts.abutment()
    vertices, implant = placed(vertices)

    post = find_post(vertices, faces, implant if told else None)

    assert post.is_found, post.because
    height_error, ring = margin_errors(post, implant, parts)
    assert height_error < 1e-6
    # The margin runs along the chords of a polygon inscribed in the circle.
    sagitta = parts.margin_radius * (1 - np.cos(np.pi / parts.sides))
    assert ring.max() < parts.margin_radius + 1e-6
    assert ring.min() > parts.margin_radius - sagitta - 1e-6
    assert post.pose.axis @ implant.axis > 1 - 1e-9
    assert post.is_knife_edge == (name == "knife edge")
    assert post.has_bore == (name != "no bore")
    assert ("coronal" in post.told) == told


def test_each_face_belongs_to_the_part_of_the_profile_it_was_turned_from():
    parts = TurnedParts(sides=60)
    vertices, faces = parts.abutment()

    post = find_post(vertices, faces, Pose.of([0, 0, 0], [0, 0, 1]))

    rows = ("emergence", SHOULDER, WALL, TOP, BORE, BORE, BORE, EMERGENCE)
    expected = np.repeat([EMERGENCE, *rows[1:]], 2 * parts.sides)
    assert (post.part == expected).all()


@pytest.mark.parametrize("squash", [0.7, 1.3])
def test_an_oval_abutment_has_an_oval_margin(squash):
    parts = TurnedParts()
    vertices, faces = parts.abutment()
    vertices, implant = placed(vertices * [1, squash, 1])

    post = find_post(vertices, faces)

    height_error, ring = margin_errors(post, implant, parts, squash)
    assert height_error < 1e-6
    assert np.abs(ring - parts.margin_radius).max() < 1e-3


@pytest.mark.parametrize("lean_deg", [10.0, 25.0])
def test_a_leaning_post_has_its_own_axis(lean_deg):
    """Sheared above the margin: the line through the middles of the rings leans so far."""
    parts = TurnedParts(sides=200, taper_deg=5)
    vertices, faces = parts.abutment()
    over = np.maximum(vertices[:, 2] - parts.margin_height, 0.0)
    vertices[:, 0] += np.tan(np.radians(lean_deg)) * over
    vertices, implant = placed(vertices)

    post = find_post(vertices, faces, implant)

    assert post.is_found
    height_error, _ = margin_errors(post, implant, parts)
    assert height_error < 1e-6
    lean = np.degrees(np.arccos(post.pose.axis @ implant.axis))
    assert abs(lean - lean_deg) < 0.4  # a sheared cone is no cone of its middles' line


def test_a_slanted_margin_is_found_where_it_is():
    parts = TurnedParts()
    vertices, faces = parts.abutment()
    # All rings from the margin up are lifted toward x, by up to 1.5 mm: scalloped as gum is.
    turn = np.arctan2(vertices[:, 1], vertices[:, 0])
    lifted = np.isclose(vertices[:, 2], parts.margin_height)
    vertices[lifted, 2] += 0.75 * (1 + np.cos(turn[lifted]))
    vertices, implant = placed(vertices)

    post = find_post(vertices, faces, implant)

    local = implant.to_local(post.margin_mm)
    turn = np.arctan2(local[:, 1], local[:, 0])
    expected = parts.margin_height + 0.75 * (1 + np.cos(turn))
    assert np.abs(local[:, 2] - expected).max() < 0.005


def test_heights_and_widths_are_those_of_the_profile():
    parts = TurnedParts()
    vertices, faces = parts.abutment()
    vertices, implant = placed(vertices)

    height, post_height, shoulder = measure_post(
        find_post(vertices, faces, implant), "36", implant
    )

    assert abs(height.value - 2.0) < 1e-6 and height.uncertainty < 1e-6
    assert abs(post_height.value - 6.0) < 1e-6
    # Read where the wall begins, at most 0.1 mm above its foot.
    assert abs(shoulder.value - 0.6) < 0.1 * parts.slope + 1e-3
    assert height.details["margin_is"] == "found from the mesh"


def test_what_the_set_tells_is_used_and_said_to_be_told():
    parts = TurnedParts()
    vertices, faces = parts.abutment()
    turn = 2 * np.pi * np.arange(40) / 40
    line = np.column_stack([2.9 * np.cos(turn), 2.9 * np.sin(turn), np.full(40, 2.1)])
    implant = Pose.of([0, 0, 0], [0, 0, 1])

    post = find_post(vertices, faces, implant, margin_mm=line, axis=[0.0, 0.0, 2.0])
    height = measure_post(post, "11", implant)[0]

    np.testing.assert_allclose(post.margin_mm, line)
    assert set(post.told) == {"margin", "axis", "coronal"}
    assert abs(height.value - 2.1) < 1e-9
    assert height.details["margin_is"] == height.details["axis_is"] == "told by the set"


def test_a_rounded_edge_is_found_in_its_middle_and_says_how_round_it_is():
    """A quarter circle of 0.3 mm between emergence and shoulder (elementary geometry)."""
    arc = np.radians(np.linspace(0, 90, 12))
    edge = [(2.7 + 0.3 * np.cos(a), 2.0 + 0.3 * np.sin(a)) for a in arc]
    profile = [(3.0, 0.0), *edge, (2.2, 2.3), (1.8, 8.0), (1.0, 8.0), (1.0, 0.0), (3.0, 0.0)]
    vertices, faces = turned(profile, [0.0] * len(profile), 120)

    post = find_post(vertices, faces, Pose.of([0, 0, 0], [0, 0, 1]))

    middle = 2.0 + 0.3 * np.sin(np.pi / 4)
    assert np.abs(post.margin_mm[:, 2] - middle).max() < 0.05
    assert 0.05 < post.spread_mm < 0.3


def test_scattered_pieces_do_not_move_the_margin():
    parts = TurnedParts()
    whole = joined(parts.abutment(), box(0.1, 0.1, 0.1, at=(5, 5, 5)), box(0.1, 0.1, 0.1))
    vertices, implant = placed(whole[0])

    post = find_post(vertices, whole[1], implant)

    assert margin_errors(post, implant, parts)[0] < 1e-6
    assert (post.part[-24:] == 0).all()


def test_folds_and_missing_triangles_do_not_move_the_margin():
    parts = TurnedParts(sides=90)
    vertices, faces = parts.abutment()
    random = np.random.default_rng(2)
    kept = np.delete(faces, random.choice(len(faces), 12, replace=False), axis=0)
    fins = kept[random.choice(len(kept), 30)][:, [0, 2, 1]]
    vertices, implant = placed(vertices)

    post = find_post(vertices, np.concatenate([kept, fins]), implant)

    assert post.is_found
    local = implant.to_local(post.margin_mm)
    assert np.median(np.abs(local[:, 2] - 2.0)) < 1e-6
    assert np.abs(local[:, 2] - 2.0).max() < 0.2


@pytest.mark.parametrize("body", [sphere(3.0), box(6, 6, 6)])
def test_a_body_without_a_post_has_no_margin(body):
    post = find_post(*body)
    measured = measure_post(post, "11")

    assert not post.is_found or post.is_knife_edge
    if not post.is_found:
        assert all(one.value is None and one.because == post.because for one in measured)


def test_a_smooth_edge_that_is_none_is_not_named():
    """A barrel: its widest place is where nothing turns."""
    z = np.linspace(0, 8, 30)
    profile = [(0.0, 0.0), *zip(3 - 0.02 * (z - 4) ** 2, z, strict=True), (0.0, 8.0)]
    vertices, faces = turned(profile, [0.0] * len(profile), 60)

    post = find_post(vertices, faces, Pose.of([0, 0, 0], [0, 0, 1]))

    assert not post.is_found
    assert "no closed margin line" in post.because


def test_an_empty_mesh_has_no_post():
    post = find_post(np.zeros((0, 3)), np.zeros((0, 3), np.int32))
    assert not post.is_found and post.because


def test_the_demo_abutments_have_a_sharp_margin_where_they_were_given_it():
    """0.3 mm under the crest of the tissue."""
    designs = {site: custom_abutment(site, 3, ("45", "46", "47")) for site in ("45", "47")}
    # The posts stand along the mean of the implants' axes, the bridge's path of insertion.
    path = np.sum([one.implants[site].axis for site, one in designs.items()], axis=0)
    for site, design in designs.items():
        truth = design.implants[site]
        implant = Pose.of(truth.platform, truth.axis, truth.flat)

        post = find_post(design.vertices, design.faces, implant)
        height = measure_post(post, site, implant)[0]

        assert height.value == pytest.approx(truth.depth_mm - 0.3, abs=0.01)
        assert post.pose.axis @ path / np.linalg.norm(path) > np.cos(np.radians(0.1))
        assert height.uncertainty < 0.05


def gum(height, slope=0.0):
    """A flat scan across the axis at a height, rising toward x; looks to the crown."""
    vertices, faces = sheet(80, 40.0)
    vertices = vertices * [1, 1, 0] - [20.03, 20.01, 0]
    vertices[:, 2] = height + slope * vertices[:, 0]
    return vertices, faces


@pytest.mark.parametrize("height", [2.9, 1.4])
@pytest.mark.parametrize("seed", [None, 8])
def test_the_margin_is_as_deep_as_the_gum_is_high_over_it(height, seed):
    """Up to 1 mm outside of a ring of radius 3 a plane of slope 0.1 rises by 0.4 mm.

    On the other side it is highest at the ring itself, 0.3 mm lower than in the middle.
    """
    parts = TurnedParts()
    turn = np.eye(3) if seed is None else rotation(seed)
    (body, body_faces), (scan, scan_faces) = parts.abutment(), gum(height, 0.1)
    post = find_post(body @ turn.T, body_faces, Pose.of([0, 0, 0], turn[:, 2]))

    measured = margin_depth(post, "36", scan @ turn.T, scan_faces)

    assert abs(measured.value - (height - 2.0 + 0.4)) < 2e-3
    assert abs(measured.details["least_mm"] - (height - 2.0 - 0.3)) < 2e-3
    assert measured.place_mm @ turn[:, 0] > 2.99


def beside_tooth(away, top=7.0, lean_deg=8.0, height=2.9):
    """A flat scan that rises to a tooth so far from the middle, leaning out by so much.

    Between x = away and the tooth's upper edge at `top` the side is a plane; beyond, level.
    """
    vertices, faces = sheet(160, 20.0)
    x, y = vertices[:, 0] - 10.02, vertices[:, 1] - 10.01
    side = (x - away) / np.tan(np.radians(lean_deg))
    return np.column_stack([x, y, np.clip(height + side, height, height + top)]), faces


@pytest.mark.parametrize("away", [3.1, 3.4, 3.8])
@pytest.mark.parametrize("top", [4.6, 7.0])
def test_a_neighbouring_tooth_close_to_the_margin_is_no_gum(away, top):
    """The margin is a ring of radius 3 at height 2; the gum beside it lies level at 2.9."""
    post = find_post(*TurnedParts().abutment(), Pose.of([0, 0, 0], [0, 0, 1]))

    measured = margin_depth(post, "36", *beside_tooth(away, top))

    # Smoothing rounds the foot off: over four edges of 0.125 mm, a fillet to 60 degrees.
    assert 0.89 < measured.value < 1.1


@pytest.mark.parametrize("radius", [3.05, 3.3, 3.6])
def test_the_wall_of_the_well_in_the_gum_is_gum(radius):
    """A floor at 2.0, and from a radius on a wall of 82 degrees up to a crest at 4.5."""
    vertices, faces = sheet(260, 16.0)
    plan = vertices[:, :2] - [8.02, 8.01]
    wall = (np.hypot(*plan.T) - radius) / np.tan(np.radians(8))
    post = find_post(*TurnedParts().abutment(), Pose.of([0, 0, 0], [0, 0, 1]))

    scan = np.column_stack([plan, np.clip(2.0 + wall, 2.0, 4.5)])
    measured = margin_depth(post, "36", scan, faces)

    assert measured.value == pytest.approx(2.5, abs=0.06)


def test_a_scan_that_does_not_reach_around_the_margin_tells_no_depth():
    parts = TurnedParts()
    post = find_post(*parts.abutment(), Pose.of([0, 0, 0], [0, 0, 1]))
    scan, faces = gum(2.9)
    scan[:, 0] += 20.5

    measured = margin_depth(post, "36", scan, faces)

    assert measured.value is None and "of the margin only" in measured.because
    assert margin_depth(post, "36", scan + 90, faces).value is None


def ring_of_normals(slope, count=60):
    turn = 2 * np.pi * np.arange(count) / count
    across = np.sqrt(1 - slope**2)
    return np.column_stack(
        [across * np.cos(turn), across * np.sin(turn), np.full(count, slope)]
    )


@pytest.mark.parametrize("foot_mm2", [0.0, 0.5])
def test_the_taper_of_a_wall_is_that_of_most_of_its_area(foot_mm2):
    # As many facets of a foot as of the wall: their number tells neither from the other.
    normals = np.concatenate([ring_of_normals(0.2), ring_of_normals(-0.2)])
    areas = np.repeat([1.0, foot_mm2], 60)
    near = np.array([0.02, 0, 1]) / np.hypot(0.02, 1)

    assert settled_axis(normals, areas, near) == pytest.approx([0, 0, 1], abs=1e-9)
