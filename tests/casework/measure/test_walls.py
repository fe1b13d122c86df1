"""Are walls and rooms those of bodies whose walls elementary geometry gives?"""

import numpy as np
import pytest

from casework.benchmark.turned_parts import TurnedParts, turned
from casework.demo.meshes import bridge, crown, custom_abutment
from casework.measure.posts import find_post
from casework.measure.retainers import INTAGLIO, OUTER, take_apart
from casework.measure.surfaces.poses import Pose, Rigid
from casework.measure.walls import (
    abutment_walls,
    ceramic_room,
    opposing_room,
    part_walls,
    retainer_walls,
    thickness_field,
    wall_field,
)
from tests.shapes import box, joined, rotation, sheet, tube

SIDES = {
    "buccal": np.array([1.0, 0, 0]),
    "lingual": np.array([-1.0, 0, 0]),
    "mesial": np.array([0, 1.0, 0]),
    "distal": np.array([0, -1.0, 0]),
    "occlusal": np.array([0, 0, 1.0]),
}
EXACT_MM = 0.005  # what the nearest distance has to agree within
UP = Pose.of([0, 0, 0], [0, 0, 1])


def seated(parts, seed=None):
    """Crown over abutment, anywhere in space, and the directions of its sides there."""
    rigid = Rigid.none() if seed is None else Rigid(rotation(seed), np.array([9.0, 40.0, -3.0]))
    abutment, crown_mesh = parts.abutment(), parts.crown()
    post = find_post(rigid.apply(abutment[0]), abutment[1], UP.moved(rigid))
    whole = take_apart(rigid.apply(crown_mesh[0]), crown_mesh[1], {"36": post})
    return whole, {name: rigid.rotation @ one for name, one in SIDES.items()}


def by_region(measured):
    return {one.details.get("region"): one for one in measured}


@pytest.mark.parametrize("shift", [0.0, 0.15, 0.3])
@pytest.mark.parametrize("seed", [None, 5])
def test_the_wall_between_shifted_cones_is_least_where_they_are_nearest(shift, seed):
    parts = TurnedParts(shift=shift, wall=0.7)
    whole, sides = seated(parts, seed)

    walls = by_region(retainer_walls(whole, "36", sides))

    assert abs(walls[""].value - parts.least_wall_mm) < EXACT_MM
    # The outside is shifted toward x, so the wall on the other side is the thin one.
    assert abs(walls["lingual"].value - parts.least_wall_mm) < EXACT_MM
    # On the far side of the sector, 45 degrees away from -x (elementary geometry of circles).
    assert walls["buccal"].value > walls["mesial"].value - EXACT_MM
    assert abs(walls["occlusal"].value - parts.roof) < EXACT_MM
    if shift:
        assert walls[""].details["least_in"] == "lingual"
        assert abs(walls["mesial"].value - walls["distal"].value) < EXACT_MM
    on_both = np.array(walls[""].place_mm) - walls[""].details["other_side_mm"]
    assert abs(np.linalg.norm(on_both) - walls[""].value) < 1e-9


def test_a_thin_roof_is_the_least_wall_and_is_occlusal():
    whole, sides = seated(TurnedParts(roof=0.4, wall=1.0))

    walls = by_region(retainer_walls(whole, "36", sides))

    assert abs(walls[""].value - 0.4) < EXACT_MM
    assert walls[""].details["least_in"] == "occlusal"
    assert abs(walls["buccal"].value - 1.0) < EXACT_MM


def test_the_margin_rim_does_not_win():
    """A crown that thins to an edge at its margin, over a knife edge."""
    parts = TurnedParts(shoulder=0.0, bore_radius=0.0)
    vertices, faces = parts.crown()
    outer_edge = np.isclose(vertices[:, 2], parts.foot[1] + parts.gap)
    ring = np.hypot(vertices[:, 0], vertices[:, 1])
    thin = outer_edge & (ring > parts.margin_radius + 0.3)
    vertices[thin, :2] *= ((parts.margin_radius + 0.08) / ring[thin])[:, None]
    whole = take_apart(vertices, faces, {"36": find_post(*parts.abutment(), UP)})

    walls = by_region(retainer_walls(whole, "36", SIDES))

    # The outside runs from 0.02 beside the cavity at the edge to the full wall at the top.
    full = parts.wall
    low, high = parts.foot[1] + parts.gap, parts.top[1] + parts.gap + parts.roof
    at_one_mm = 0.02 + (full + 0.05) * (1.0 / (high - low))
    assert walls["margin"].value > 0.02 + 0.5 * full * 0.5 / (high - low)
    assert walls[""].value > 0.9 * at_one_mm
    assert walls[""].value > walls["margin"].value


@pytest.mark.parametrize("seed", [None, 11])
def test_room_over_the_abutment_is_gap_and_wall(seed):
    parts = TurnedParts(gap=0.06, wall=0.8, roof=1.2)
    whole, sides = seated(parts, seed)

    room = by_region(ceramic_room(whole, "36", sides))

    assert abs(room[""].value - 0.86) < EXACT_MM
    assert abs(room["occlusal"].value - 1.26) < EXACT_MM


def test_without_directions_walls_are_upper_or_axial():
    whole, _ = seated(TurnedParts())
    regions = set(by_region(retainer_walls(whole, "36")))
    assert regions == {"", "upper", "axial", "margin"}


@pytest.mark.parametrize("measure", [retainer_walls, ceramic_room])
@pytest.mark.parametrize(("roof", "wall"), [(4.0, 0.7), (1.5, 3.5)])
def test_a_wall_thicker_than_the_reach_is_at_least_that(measure, roof, wall):
    whole, sides = seated(TurnedParts(roof=roof, wall=wall))

    walls = by_region(measure(whole, "36", sides))

    thick = {"occlusal"} if roof > 3 else {"buccal", "lingual", "mesial", "distal"}
    for name in set(sides):
        assert (walls[name].details.get("reads") == "at least") == (name in thick)
        assert walls[name].value == 3.0 or name not in thick
    assert walls[""].value == pytest.approx(min(roof, wall), abs=0.06)
    assert "reads" not in walls[""].details


def test_where_every_wall_is_thicker_the_whole_is_at_least_the_reach():
    whole, sides = seated(TurnedParts(roof=4.0, wall=3.5))

    walls = by_region(retainer_walls(whole, "36", sides))

    assert (walls[""].value, walls[""].details["reads"]) == (3.0, "at least")
    assert walls[""].place_mm is None and walls[""].uncertainty is None


@pytest.mark.parametrize(
    ("body", "least", "reads"),
    [
        (box(8, 8, 8), 3.0, "at least"),
        (box(8, 8, 2.5), 2.5, None),
        (tube(outer=6.0, inner=1.5, height=12.0), 3.0, "at least"),
        (tube(outer=4.0, inner=1.5, height=12.0), 2.5, None),
    ],
    ids=["block", "plate", "thick tube", "tube"],
)
def test_a_part_is_as_thick_as_it_was_made_or_at_least_the_reach(body, least, reads):
    whole, *regions = part_walls(*body, "36", np.array([0, 0, 1.0]))

    assert whole.value == pytest.approx(least, abs=EXACT_MM)
    assert whole.details.get("reads") == reads
    assert all(one.value is None or one.value >= whole.value for one in regions)


def test_the_end_of_a_thin_tube_has_no_opposite_side():
    walls = by_region(part_walls(*tube(outer=3.0, inner=2.0), "36", np.array([0, 0, 1.0])))

    assert walls["axial"].value == pytest.approx(1.0, abs=EXACT_MM)
    assert walls["upper"].value is None and "ends in edges" in walls["upper"].because


def test_no_abutment_no_wall():
    whole = take_apart(*TurnedParts(sides=30).crown(), {"36": None})

    for measure in (retainer_walls, ceramic_room):
        (one,) = measure(whole, "36")
        assert one.value is None and "No abutment is known" in one.because


def test_room_to_the_opposing_jaw_is_that_to_a_plane_and_ignores_scatter():
    parts = TurnedParts(sides=90)
    post = find_post(*parts.abutment(), UP)
    vertices, faces = sheet(60, 30.0)
    vertices = vertices * [1, 1, 0] + [-15.2, -15.1, parts.top[1] + 1.7]
    bit = box(0.2, 0.2, 0.2, at=(0, 0, parts.top[1] + 0.3))
    whole = joined((vertices, faces[:, ::-1]), bit)

    measured = opposing_room(post, "36", *whole)

    assert abs(measured.value - 1.7) < 1e-6
    assert measured.details["dropped_piece_count"] == 1


def test_an_opposing_jaw_out_of_reach_gives_no_room():
    parts = TurnedParts(sides=40)
    post = find_post(*parts.abutment(), UP)
    vertices, faces = box(5, 5, 5, at=(0, 0, 60))
    measured = opposing_room(post, "36", vertices, faces)
    assert measured.value is None and "within 12 mm" in measured.because


def test_the_wall_of_an_abutment_is_least_where_its_bore_is_nearest_to_the_post():
    """Post wall to bore: least at the top, (r_top - r_bore) cos(taper) at most."""
    parts = TurnedParts(bore_radius=1.3, taper_deg=4)
    post = find_post(*parts.abutment(), UP)

    walls = by_region(abutment_walls(post, "36", SIDES))

    thin = parts.top[0] - 1.3
    assert walls[""].details["other_side"] == "channel"
    # Asked at the top edge or up to 0.4 mm below it, where the post is 0.03 mm wider.
    assert thin * parts.cosine - EXACT_MM < walls[""].value < thin + 0.4 * parts.slope


def test_a_screwed_crown_is_as_thick_as_the_wall_around_its_channel():
    """A tube with a step: least between channel and outside (elementary geometry)."""
    profile = [(2.6, 0.0), (3.0, 4.0), (3.0, 8.0), (1.3, 8.0), (1.3, 1.0), (0.75, 1.0)]
    profile += [(0.75, 0.0), (2.6, 0.0)]
    vertices, faces = turned(profile, [0.0] * len(profile), 160)
    shift = np.zeros(len(vertices))
    ring = np.hypot(vertices[:, 0], vertices[:, 1])
    shift[np.isclose(ring, 1.3)] = 0.5
    vertices[:, 0] += shift

    walls = by_region(part_walls(vertices, faces, "36", np.array([0, 0, 1.0]), SIDES))

    # Toward x at the step's height 1 mm the outside has a radius of 2.7 mm and leans 5.7°.
    least = (2.7 - 1.3 - 0.5) * np.cos(np.arctan(0.1))
    assert abs(walls["buccal"].value - least) < 0.06
    assert walls[""].details["least_in"] == "buccal"
    assert walls[""].details["other_side"] == "channel"


def test_fields_show_the_wall_on_both_of_its_sides():
    parts = TurnedParts(wall=0.7)
    whole, _ = seated(parts)

    field = wall_field(whole)

    middles = whole.nearest.vertices
    height = middles[:, 2]
    inner = np.unique(whole.nearest.faces[whole.kind == INTAGLIO])
    wall = inner[(height[inner] > 3) & (np.hypot(*middles[inner, :2].T) > 1)]
    np.testing.assert_allclose(field[wall], 0.7, atol=EXACT_MM)
    assert np.isfinite(field[np.unique(whole.nearest.faces[whole.kind == OUTER])]).any()

    plate = thickness_field(*box(6, 6, 1.0))
    assert np.isnan(plate).all()  # all its vertices are corners


def test_the_demo_bridge_has_the_same_walls_in_any_position():
    gap, values = ("45", "46", "47"), []
    design, made = bridge(gap, 2), custom_abutment("45", 2, gap)
    truth = made.implants["45"]
    implant = Pose.of(truth.platform, truth.axis, truth.flat)
    for rigid in (Rigid.none(), Rigid(rotation(9), np.array([-30.0, 8.0, 77.0]))):
        post = find_post(rigid.apply(made.vertices), made.faces, implant.moved(rigid))
        whole = take_apart(rigid.apply(design.vertices), design.faces, {"45": post})
        values.append([one.value for one in retainer_walls(whole, "45")])

    np.testing.assert_allclose(values[0], values[1], atol=2e-3)
    assert 0.2 < values[0][0] < 1.5


def test_the_connection_below_the_platform_is_left_out():
    design = crown("36", 3)
    truth = design.implants["36"]
    implant = Pose.of(truth.platform, truth.axis, truth.flat)

    whole = part_walls(design.vertices, design.faces, "36", truth.axis)
    above = part_walls(design.vertices, design.faces, "36", truth.axis, None, implant)

    # The generator's connection is a tube of radii 1.2 and 0.75 mm, rounded at its end.
    assert whole[0].value < 0.47
    assert above[0].value > 1.0
