"""Are the connectors of bridges of known form found, in order, with their true sections?"""

import numpy as np
import pytest

from casework.measure.connectors import Span, connectors, connectors_of, span_of
from casework.measure.joints import bridge_of, units_of
from casework.measure.surfaces.poses import Pose
from casework.measure.surfaces.sections import Sections
from tests.shapes import (
    box,
    bridge_of_ellipsoids,
    joined,
    polygon_share,
    rotation,
    turned_profile,
)

UP = np.array([0, 0, 1.0])


def values(rows, quantity):
    return {row.subject: row.value for row in rows if row.quantity == quantity}


def boxes_joined_by_bars():
    return joined(
        box(10, 8, 6), box(4, 3, 2, at=(9, 3, 2)), box(10, 8, 6, at=(12, 0, 0)),
        box(4, 2, 4, at=(21, 3, 1)), box(10, 8, 6, at=(24, 0, 0)),
    )  # fmt: skip


def curved_front(radii=(1.5, 1.6, 1.4, 1.7, 1.3)):
    """Six units on a circle of 20 mm, its middle to the front, the highest bar first."""
    turns = np.radians([-50, -30, -10, 10, 30, 50])
    centres = np.stack([20 * np.sin(turns), 20 * np.cos(turns), 0 * turns], axis=1)
    frames = [
        np.array([[np.cos(t), np.sin(t), 0], [-np.sin(t), np.cos(t), 0], [0, 0, 1]])
        for t in turns
    ]
    return bridge_of_ellipsoids(centres, (3.3, 3.2, 5.0), radii, turns=frames), centres


@pytest.mark.parametrize("seed", range(4))
def test_boxes_joined_by_bars_have_the_sections_of_the_bars(seed):
    vertices, faces = boxes_joined_by_bars()
    turn, shift = rotation(seed), np.array([40.0, -7, 13])
    places = {"14": [5, 4, 3], "15": [17, 4, 3], "16": [29, 4, 3]}
    units = {site: turn @ np.array(at, float) + shift for site, at in places.items()}

    rows = connectors(vertices @ turn.T + shift, faces, ("14", "15", "16"), units, turn @ UP)

    assert values(rows, "connector_area") == pytest.approx({"14-15": 6, "15-16": 8}, rel=1e-5)
    assert values(rows, "connector_height") == pytest.approx({"14-15": 2, "15-16": 4}, rel=1e-3)
    assert values(rows, "connector_width") == pytest.approx({"14-15": 3, "15-16": 2}, rel=1e-3)


@pytest.mark.parametrize("seed", range(3))
def test_a_curved_front_has_the_sections_of_its_bars_in_order(seed):
    (vertices, faces), centres = curved_front()
    turn = rotation(seed)
    sites = ("13", "12", "11", "21", "22", "23")
    order = dict(zip(sites, centres @ turn.T, strict=True))

    rows = connectors(
        vertices @ turn.T, faces, sites, {"13": order["13"], "22": order["22"]}, turn @ UP
    )

    expected = {
        f"{a}-{b}": np.pi * r * r * polygon_share(48)
        for a, b, r in zip(sites, sites[1:], (1.5, 1.6, 1.4, 1.7, 1.3), strict=False)
    }
    assert values(rows, "connector_area") == pytest.approx(expected, rel=1e-3)


@pytest.mark.parametrize(("sites", "up", "leads_left"), [
    (("13", "12", "11", "21", "22", "23"), -UP, True),
    (("23", "22", "21", "11", "12", "13"), -UP, False),
    (("43", "42", "41", "31", "32", "33"), UP, True),
])  # fmt: skip
def test_the_bend_of_the_arch_tells_right_from_left(sites, up, leads_left):
    # Looked at from above with the front ahead, the patient's right is at +x (front +y, up +z).
    (vertices, faces), _ = curved_front()

    found = bridge_of(vertices, faces, sites, None, up)

    xs = [joint.place_mm[0] for joint in found.joints]
    assert found.order == "bend"
    assert xs == sorted(xs, reverse=leads_left)


def test_one_end_unit_tells_the_order():
    vertices, faces = boxes_joined_by_bars()

    rows = connectors(vertices, faces, ("44", "45", "46"), {"46": np.array([5.0, 4, 3])}, UP)

    assert values(rows, "connector_area") == pytest.approx({"45-46": 6, "44-45": 8}, rel=1e-5)


def test_implants_under_the_ends_tell_the_order():
    vertices, faces = boxes_joined_by_bars()
    poses = {
        "46": Pose.of(np.array([4.0, 4, -9]), np.array([0.1, 0, 1])),
        "44": Pose.of(np.array([30.0, 4, -9]), UP),
    }

    rows = connectors(vertices, faces, ("44", "45", "46"), poses, UP)

    assert values(rows, "connector_area") == pytest.approx({"45-46": 6, "44-45": 8}, rel=1e-5)


def test_an_unknown_order_is_told():
    vertices, faces = boxes_joined_by_bars()

    rows = connectors(vertices, faces, ("44", "45", "46"), None, UP)

    areas = [row for row in rows if row.quantity == "connector_area"]
    assert {row.details["order"] for row in areas} == {"not known"}


def test_a_bridge_beside_its_implants_is_refused():
    vertices, faces = boxes_joined_by_bars()
    units = {"44": np.array([5.0, 60, 3])}

    rows = connectors(vertices, faces, ("44", "45", "46"), units, UP)

    assert all(row.value is None for row in rows)
    assert "beside 44" in rows[0].because


def test_units_that_are_not_there_are_not_guessed():
    vertices, faces = boxes_joined_by_bars()

    rows = connectors(vertices, faces, ("43", "44", "45", "46"), None, UP)

    assert all(row.value is None for row in rows)
    assert "2 narrow places where 3 joints are expected" in rows[0].because


def test_a_missing_connector_is_no_material():
    vertices, faces = joined(
        box(10, 8, 6), box(4, 3, 2, at=(9, 3, 2)), box(10, 8, 6, at=(12, 0, 0)),
        box(10, 8, 6, at=(24, 0, 0)),
    )  # fmt: skip
    units = {"44": np.array([5.0, 4, 3]), "46": np.array([29.0, 4, 3])}

    rows = connectors(vertices, faces, ("44", "45", "46"), units, UP)

    assert values(rows, "connector_area") == pytest.approx({"44-45": 6, "45-46": 0}, rel=1e-5)
    missing = [row for row in rows if row.subject == "45-46" and row.value is None]
    assert {row.quantity for row in missing} == {
        "connector_height", "connector_width", "embrasure_radius"
    }  # fmt: skip


def test_without_the_occlusal_direction_height_is_not_guessed():
    vertices, faces = boxes_joined_by_bars()

    rows = connectors(vertices, faces, ("14", "15", "16"))

    heights = [row for row in rows if row.quantity == "connector_height"]
    assert all(row.value is None and row.because for row in heights)
    # Turned to 45 degrees, a 3 x 2 bar reaches over its whole diagonal at most.
    assert heights[0].details["least_extent_mm"] == pytest.approx(2, rel=1e-3)
    assert heights[0].details["greatest_extent_mm"] == pytest.approx(np.hypot(3, 2), rel=1e-3)


def neck(rounding, radius=1.6, sides=256):
    """Two rounds of 4 mm joined by a neck that opens to them with the given rounding."""
    turns = np.linspace(0, np.pi / 2, 48)
    lower = [(radius + rounding * (1 - np.sin(t)), -1.0 - rounding * np.cos(t)) for t in turns]
    profile = [(0, -6.0), (4.0, -6.0), (4.0, -1.0 - rounding), *lower]
    return turned_profile(profile + [(r, -z) for r, z in profile[::-1]], sides)


@pytest.mark.parametrize("rounding", [0.45, 0.9, 1.5])
def test_the_rounding_of_an_embrasure_is_that_of_its_arc(rounding):
    rows = connectors(*neck(rounding), ("11", "21"), None, np.array([1.0, 0, 0]))

    expected = np.pi * 1.6**2 * polygon_share(256)
    assert values(rows, "connector_area")["11-21"] == pytest.approx(expected, rel=1e-4)
    assert values(rows, "embrasure_radius")["11-21"] == pytest.approx(rounding, rel=0.01)


def test_a_sharp_embrasure_reads_as_less_than_the_least_rounding():
    rows = connectors(*neck(1e-3), ("11", "21"), None, np.array([1.0, 0, 0]))

    assert values(rows, "embrasure_radius")["11-21"] < 0.3


def test_no_plane_in_a_dense_grid_cuts_less():
    # The naive twin of the search: every plane of a grid around the joint found.
    (vertices, faces), centres = curved_front()
    lean = np.array([[1, 0.2, 0.1], [0, 1, 0.15], [0.1, 0, 1]])
    vertices = vertices @ lean.T
    units = {"12": centres[1] @ lean.T, "11": centres[2] @ lean.T}
    sites = ("13", "12", "11", "21", "22", "23")

    found = bridge_of(vertices, faces, sites, units, None)

    for joint in found.joints[1:4]:
        cuts = Sections(vertices, faces)
        sideways = [joint.section.u, joint.section.v]
        for shift in np.linspace(-0.6, 0.6, 5):
            for a in np.linspace(-0.2, 0.2, 5):
                for b in np.linspace(-0.2, 0.2, 5):
                    normal = joint.section.normal + a * sideways[0] + b * sideways[1]
                    at = joint.place_mm + shift * joint.along
                    area = cuts.cut(at, normal).near(at, 5.0).area_mm2
                    assert joint.section.area_mm2 < area * 1.0005


def test_points_belong_to_the_unit_on_their_side_of_the_joint():
    (vertices, faces), centres = curved_front()
    sites = ("13", "12", "11", "21", "22", "23")
    units = {"13": centres[0], "22": centres[4]}

    found = bridge_of(vertices, faces, sites, units, UP)

    np.testing.assert_array_equal(units_of(centres, found, sites), range(6))
    middle = (centres[2] + centres[3]) / 2
    beside = middle + np.outer([-0.2, 0.2], [1.0, 0, 0])
    np.testing.assert_array_equal(units_of(beside, found, sites), [2, 3])


def test_one_unit_has_no_connector():
    assert connectors(*box(), ("11",)) == []


def test_a_mesh_without_faces_is_not_measured():
    rows = connectors(np.empty((0, 3)), np.empty((0, 3), int), ("11", "12"))

    assert all(row.value is None and row.because for row in rows)


def test_a_bridge_whose_joints_are_found_is_measured_alike():
    vertices, faces = boxes_joined_by_bars()
    sites = ("14", "15", "16")

    found = bridge_of(vertices, faces, sites, None, UP)

    one = connectors_of(found, vertices, faces, sites, UP)
    other = connectors(vertices, faces, sites, None, UP)
    assert [row.value for row in one] == [row.value for row in other]


@pytest.mark.parametrize(("kinds", "joint", "expected"), [
    ("rpr", (0, 1), Span(1, False, "molar")),
    ("rpr", (1, 2), Span(1, False, "molar")),
    ("rppr", (1, 2), Span(2, False, "molar")),
    ("rr", (0, 1), Span(0, False, "premolar")),
    ("rrp", (1, 2), Span(1, True, "molar")),
    ("prr", (0, 1), Span(1, True, "premolar")),
    ("rrpr", (0, 1), Span(0, False, "premolar")),
])  # fmt: skip
def test_what_a_connector_bears_follows_from_its_units(kinds, joint, expected):
    words = {"r": "retainer", "p": "pontic"}
    units = [
        (tooth, words[kind])
        for tooth, kind in zip(("44", "45", "46", "47"), kinds, strict=False)
    ]

    assert span_of(units, (units[joint[0]][0], units[joint[1]][0])) == expected


def test_a_front_bridge_is_anterior_from_canine_to_canine():
    units = [(tooth, "pontic") for tooth in ("13", "12", "11", "21", "22", "23")]
    units[0], units[-1] = ("13", "retainer"), ("23", "retainer")

    assert span_of(units, ("11", "21")) == Span(4, False, "anterior")
    with pytest.raises(ValueError):
        span_of(units, ("13", "11"))
