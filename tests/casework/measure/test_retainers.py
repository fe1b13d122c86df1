"""Is what lies over an abutment told from the outside of a restoration?"""

import numpy as np
import pytest

from casework.benchmark.turned_parts import TurnedParts, turned
from casework.demo.meshes import bridge, custom_abutment
from casework.measure.posts import find_post
from casework.measure.retainers import ACCESS, INTAGLIO, OUTER, SEAT, take_apart
from casework.measure.surfaces.poses import Pose
from tests.shapes import joined, rotation

GAP = ("45", "46", "47")
UP = Pose.of([0, 0, 0], [0, 0, 1])


@pytest.fixture(scope="module")
def demo():
    posts = {}
    for site in ("45", "47"):
        design = custom_abutment(site, 2, GAP)
        truth = design.implants[site]
        implant = Pose.of(truth.platform, truth.axis, truth.flat)
        posts[site] = find_post(design.vertices, design.faces, implant)
    design = bridge(GAP, 2)
    return take_apart(design.vertices, design.faces, posts), design


def test_cavity_and_seat_of_a_turned_crown_are_those_of_its_profile():
    parts = TurnedParts(sides=60)
    whole = take_apart(*parts.crown(), {"36": find_post(*parts.abutment(), UP)})

    rows = [INTAGLIO] * 60 + [INTAGLIO] * 120 + [SEAT] * 120 + [OUTER] * 120 + [OUTER] * 60
    assert (whole.kind == rows).all()
    edge = whole.retainers["36"].edge_mm
    assert len(edge) == 60
    np.testing.assert_allclose(edge[..., 2], parts.foot[1] + parts.gap)


def test_a_channel_hangs_together_with_its_cavity_by_its_widened_lower_end():
    """A funnel that is too steep to face the post, and looks into a wide cavity below it."""
    parts = TurnedParts(sides=60, margin_radius=4.5)
    (foot, low), (top, high) = parts.foot, parts.top
    low, roof, end = low + parts.gap, high + parts.gap, high + 3.0
    profile = [(1.3, roof + 0.9), (1.5, roof), (top + parts.gap, roof), (foot + parts.gap, low)]
    profile += [(foot + 1.0, low), (foot + 0.8, end), (1.3, end), (1.3, roof + 0.9)]
    crown = turned(profile, [0.0] * len(profile), 60)

    whole = take_apart(*crown, {"36": find_post(*parts.abutment(), UP)})

    kinds = [ACCESS, INTAGLIO, INTAGLIO, SEAT, OUTER, OUTER, ACCESS]
    assert (whole.kind.reshape(len(kinds), -1) == np.array(kinds)[:, None]).all()


def test_it_is_the_same_wherever_the_parts_stand():
    parts, turn = TurnedParts(sides=60), rotation(7)
    crown, abutment = parts.crown(), parts.abutment()
    here = take_apart(*crown, {"36": find_post(*abutment, UP)})

    there = take_apart(
        crown[0] @ turn.T + [5, 60, -9],
        crown[1],
        {"36": find_post(abutment[0] @ turn.T + [5, 60, -9], abutment[1])},
    )

    assert (here.kind == there.kind).all()


def test_each_demo_retainer_has_cavity_seat_and_channel(demo):
    whole, design = demo

    for site, retainer in whole.retainers.items():
        assert retainer.is_found
        truth = design.implants[site]
        local = truth.local(whole.middles)
        radius = np.hypot(local[:, 0], local[:, 1])
        # The channel was cut with a radius of 1.2 mm around the implant's axis.
        assert len(retainer.access)
        assert np.abs(radius[retainer.access] - 1.2).max() < 0.35
        # The seat looks at the shoulder, 2.5 mm above the platform.
        assert np.abs(local[retainer.seat, 2] - 2.52).max() < 0.6
        assert radius[retainer.intaglio].max() < 4.0
    outer = whole.faces_of(OUTER)
    away = [
        np.hypot(*design.implants[site].local(whole.middles[outer])[:, :2].T)
        for site in demo[0].retainers
    ]
    assert np.minimum(*away).min() > 1.1  # nothing in a channel or cavity is called outer


def test_all_of_a_bridge_between_its_abutments_is_outer_surface(demo):
    whole, design = demo
    middle = np.mean([one.platform for one in design.implants.values()], axis=0)
    pontic = np.linalg.norm(whole.middles - middle, axis=1) < 4.0

    assert (whole.kind[pontic] == OUTER).all()
    assert set(np.unique(whole.kind)) == {OUTER, INTAGLIO, SEAT, ACCESS}


def test_an_abutment_that_the_set_lacks_is_said_to_be_missing():
    whole = take_apart(*TurnedParts(sides=30).crown(), {"36": None})

    assert whole.retainers["36"].because == "No abutment is known under this retainer."


def test_parts_that_stand_apart_say_how_far():
    parts = TurnedParts(sides=60)
    vertices, faces = parts.crown()
    post = find_post(*parts.abutment(), UP)

    retainer = take_apart(vertices + [40.0, 0, 0], faces, {"36": post}).retainers["36"]

    assert not retainer.is_found
    assert "may not be in one frame" in retainer.because
    # From margin to outside: 40 mm less both radii at their heights.
    told = float(retainer.because.split("about ")[1].split(" mm")[0])
    reach = parts.crown()[0]
    assert abs(told - (40 - 3.0 + reach[:, 0].min())) < 0.2


def test_a_crown_pushed_half_off_covers_too_little():
    parts = TurnedParts(sides=60, ring_mm=0.3)
    vertices, faces = parts.crown()
    post = find_post(*parts.abutment(), UP)

    lifted = take_apart(vertices + [0, 0, 5.0], faces, {"36": post}).retainers["36"]

    assert "% of the abutment's post only" in lifted.because
    covered = float(lifted.because.split("over ")[1].split(" %")[0])
    # One of the six millimetres of the post is under it, and what is near to its end.
    assert 10 < covered < 25


def test_doubled_and_scattered_triangles_do_not_hide_a_retainer():
    parts = TurnedParts(sides=60)
    vertices, faces = parts.crown()
    bits = np.array([[9, 9, 9], [9.2, 9, 9], [9, 9.2, 9.1]]), np.array([[0, 1, 2]])
    vertices, faces = joined((vertices, np.concatenate([faces, faces[:40]])), bits)

    whole = take_apart(vertices, faces, {"36": find_post(*parts.abutment(), UP)})

    assert whole.retainers["36"].is_found
    assert (whole.kind[:60] == INTAGLIO).all()
