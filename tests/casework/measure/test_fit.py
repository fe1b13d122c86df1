"""Are gaps, overlaps and contacts those that bodies were made with?"""

import numpy as np
import pytest

from casework.benchmark.turned_parts import TurnedParts
from casework.demo.meshes import bridge, custom_abutment, lower_arch
from casework.demo.meshes.jaws import lower_jaw
from casework.measure.fit import Neighbours, contact, gap_field, seat_fit
from casework.measure.posts import find_post
from casework.measure.retainers import take_apart
from casework.measure.surfaces.poses import Pose, Rigid
from tests.shapes import box, joined, rotation, sphere

UP = Pose.of([0, 0, 0], [0, 0, 1])
GAP_EXACT_MM, OVERLAP_EXACT_MM = 0.001, 0.002


def fit_of(parts, seed=None, lift=0.0):
    rigid = Rigid.none() if seed is None else Rigid(rotation(seed), np.array([9.0, 40.0, -3.0]))
    abutment, crown = parts.abutment(), parts.crown()
    post = find_post(rigid.apply(abutment[0]), abutment[1], UP.moved(rigid))
    whole = take_apart(rigid.apply(crown[0] + [0, 0, lift]), crown[1], {"36": post})
    return seat_fit(whole, "36"), whole


@pytest.mark.parametrize("gap", [0.02, 0.05, 0.12])
@pytest.mark.parametrize("seed", [None, 4])
def test_an_even_gap_is_read_to_a_micrometre(gap, seed):
    (cement, least, marginal), _ = fit_of(TurnedParts(gap=gap), seed)

    assert abs(cement.value - gap) < GAP_EXACT_MM
    assert abs(cement.details["p5_mm"] - gap) < GAP_EXACT_MM
    assert abs(least.value - gap) < GAP_EXACT_MM
    assert abs(marginal.details["median_mm"] - gap) < GAP_EXACT_MM
    assert least.details["overlap_area_mm2"] == 0


def test_a_crown_pushed_aside_has_the_gaps_of_shifted_cones():
    """The gap goes with the cosine of the turn (elementary geometry), so its quantiles do."""
    parts = TurnedParts(gap=0.06, seat_shift=0.025, bore_radius=0.0, post_height=8.0)

    (cement, least, _), whole = fit_of(parts)

    retainer = whole.retainers["36"]
    roof = np.isclose(np.abs(whole.nearest.face_normals[retainer.intaglio, 2]), 1.0)
    share = whole.areas[retainer.intaglio[~roof]].sum() / whole.areas[retainer.intaglio].sum()
    # The roof keeps the even gap: it only fills the middle of the distribution.
    p5 = parts.gap_quantile_mm(0.05 / share)
    assert abs(cement.details["p5_mm"] - p5) < GAP_EXACT_MM
    assert abs(cement.value - 0.06) < GAP_EXACT_MM
    assert abs(least.value - (0.06 - 0.025 * parts.cosine)) < GAP_EXACT_MM


@pytest.mark.parametrize("overlap", [0.01, 0.03])
@pytest.mark.parametrize("seed", [None, 4])
def test_overlapping_parts_have_a_negative_gap_a_place_and_an_area(overlap, seed):
    (cement, least, marginal), whole = fit_of(TurnedParts(gap=-overlap), seed)

    assert abs(least.value + overlap) < OVERLAP_EXACT_MM
    assert abs(cement.value + overlap) < OVERLAP_EXACT_MM
    assert abs(marginal.value + overlap) < OVERLAP_EXACT_MM
    intaglio = whole.areas[whole.retainers["36"].intaglio].sum()
    assert 0.5 * intaglio < least.details["overlap_area_mm2"] <= intaglio + 1e-9
    assert whole.nearest.closest(np.array([least.place_mm])).distance_mm[0] < 1e-9


def test_a_crown_that_is_not_down_opens_at_its_margin():
    parts = TurnedParts(gap=0.05)
    (_, _, marginal), _ = fit_of(parts, lift=0.08)

    # The shoulder is flat: the whole lift shows there.
    assert abs(marginal.value - 0.13) < GAP_EXACT_MM
    assert marginal.details["absolute_discrepancy_most_mm"] >= 0.13 - GAP_EXACT_MM


def test_the_edge_of_a_crown_is_as_far_from_the_margin_as_it_was_made():
    parts = TurnedParts(gap=0.05, wall=0.9)
    (_, _, marginal), _ = fit_of(parts)

    radius = parts.foot[0] + 0.95 / parts.cosine - parts.slope * 0.05
    expected = np.hypot(radius - parts.margin_radius, 0.05)
    assert abs(marginal.details["absolute_discrepancy_median_mm"] - expected) < 0.005


def test_a_crown_that_ends_far_above_the_margin_gapes_at_least_so_far():
    (_, _, marginal), _ = fit_of(TurnedParts(chamfer=0.0, post_height=8.0), lift=1.4)

    assert (marginal.value, marginal.details["reads"]) == (1.0, "at least")


def test_the_gap_shows_on_the_cavity_only():
    _, whole = fit_of(TurnedParts(gap=0.05))

    field = gap_field(whole)

    known = np.isfinite(field)
    inner = np.unique(whole.nearest.faces[np.isin(whole.kind, (1, 2))])
    assert set(np.flatnonzero(known)) <= set(inner)
    assert np.abs(field[known] - 0.05).min() < 1e-6
    assert not known.all()


def test_no_abutment_no_fit():
    whole = take_apart(*TurnedParts(sides=30).crown(), {"36": None})
    assert [one.value for one in seat_fit(whole, "36")] == [None, None, None]


def side_of(measured):
    return measured.details["side"]


@pytest.mark.parametrize("away", [0.12, 0.0, -0.04])
@pytest.mark.parametrize("seed", [None, 6])
def test_contact_to_a_ball_is_the_distance_of_both_surfaces(away, seed):
    """A box beside a finely divided ball: the gap along the line through its middle."""
    turn = np.eye(3) if seed is None else rotation(seed)
    ball, faces = sphere(4.0, 300)
    part, part_faces = box(6, 6, 8, at=(-10.0 - away, -3, -5))
    neighbours = Neighbours(ball @ turn.T, faces)

    measured = contact(
        part @ turn.T, part_faces, neighbours, "36", "mesial", turn[:, 0], turn[:, 2]
    )

    assert abs(measured.value - away) < 0.002
    assert side_of(measured) == "mesial"
    if away < 0:
        # A cap of a sphere cut by a plane: π (2 r h - h²) of its base (elementary geometry).
        base = np.pi * (2 * 4.0 * -away - away**2)
        assert 0.3 * base < measured.details["overlap_area_mm2"] < 2.5 * base
    else:
        assert measured.details["overlap_area_mm2"] == 0


def test_scatter_beside_a_crown_is_no_contact():
    ball, faces = sphere(4.0, 100)
    bit = box(0.05, 0.05, 0.05, at=(-4.3, 0, 0))
    vertices, faces = joined((ball, faces), bit)
    part, part_faces = box(6, 6, 8, at=(-10.5, -3, -5))

    measured = contact(
        part, part_faces, Neighbours(vertices, faces), "36", "distal",
        np.array([1.0, 0, 0]), np.array([0, 0, 1.0]),
    )  # fmt: skip

    assert abs(measured.value - 0.5) < 0.005
    assert measured.details["dropped_piece_count"] == 1


def test_gum_under_a_crown_is_no_contact():
    """A floor under the box, and nothing beside it."""
    floor = box(40, 40, 2, at=(-20, -20, -7.2))
    part, part_faces = box(6, 6, 8, at=(-3, -3, -5))

    measured = contact(
        part, part_faces, Neighbours(*floor), "36", "mesial",
        np.array([1.0, 0, 0]), np.array([0, 0, 1.0]),
    )  # fmt: skip

    assert measured.value is None
    assert measured.because == "No tooth stands within 2 mm on the mesial side."


def test_the_demo_bridge_touches_the_tooth_before_it_and_none_behind():
    gap = ("45", "46", "47")
    design, scan = bridge(gap, 2), lower_arch(2, gap, triangles=120_000, noise_seed=3)
    teeth = lower_jaw(2, gap).teeth
    neighbours = Neighbours(scan.vertices, scan.faces)

    mesial, distal = (
        contact(
            design.vertices, design.faces, neighbours, "45-47", side,
            teeth[site].direction(sign, 0, 0), np.array([0, 0, 1.0]),
        )
        for side, site, sign in (("mesial", "45", -1.0), ("distal", "47", 1.0))
    )  # fmt: skip

    # The generator leaves 0.01 mm to the neighbours; the scan has noise.
    assert abs(mesial.value - 0.01) < 0.03
    assert mesial.details["raw_mm"] < mesial.value
    assert distal.value is None


def test_the_demo_bridge_has_the_gap_it_was_given():
    gap = ("45", "46", "47")
    made = custom_abutment("45", 2, gap)
    truth = made.implants["45"]
    post = find_post(made.vertices, made.faces, Pose.of(truth.platform, truth.axis, truth.flat))
    design = bridge(gap, 2)

    cement, least, _ = seat_fit(take_apart(design.vertices, design.faces, {"45": post}), "45")

    # 0.05 mm along the generator's rough distance, rounded by meshing.
    assert abs(cement.value - 0.05) < 0.012
    assert 0 < least.value < cement.value
