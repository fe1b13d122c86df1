"""Are channel, exit and wall those of elementary geometry, and does the rim not count?"""

import numpy as np
import pytest

from casework.benchmark.bored_parts import FLAT, abutment, cone_with_slanted_top
from casework.measure.channels import Part, channel_of, legs_of
from tests.casework.measure.placing import placed
from tests.shapes import box, joined, tube, turned_profile

UM = 1e-3


def channel(body, seed=1, from_mm=0.3):
    part, pose = placed(body, seed)
    return channel_of(part, legs_of(pose, 0.0)[0], from_mm), pose


@pytest.mark.parametrize("shift", [0.0, 0.3, 0.7])
def test_wall_of_an_off_centre_bore_is_least_on_the_near_side(shift):
    vertices, faces = tube(outer=3.0, inner=1.1, height=8.0, sides=256)
    outside = np.hypot(vertices[:, 0], vertices[:, 1]) > 2.0
    vertices[outside, 0] += shift

    found, pose = channel((vertices, faces))
    wall, inner, outer = found.wall()

    assert wall == pytest.approx(3.0 - 1.1 - shift, abs=UM)
    ends = pose.to_local(np.stack([inner, outer]))
    assert np.linalg.norm(ends[1] - ends[0]) == pytest.approx(wall, abs=1e-6)
    if shift:
        np.testing.assert_allclose(ends[:, :2], [[-1.1, 0], [shift - 3.0, 0]], atol=0.05)


def test_a_burr_on_the_seat_is_no_outer_wall():
    """It looks away from the axis, but into the bore that stands around it."""
    profile = [(3.0, 0.0), (3.0, 8.0), (1.3, 8.0), (1.3, 1.0), (1.1, 1.0), (1.1, 1.2)]
    profile += [(0.9, 1.2), (0.9, 1.0), (0.75, 1.0), (0.75, 0.0), (3.0, 0.0)]

    found, _ = channel(turned_profile(profile, 256))

    assert found.wall()[0] == pytest.approx(3.0 - 1.3, abs=UM)


@pytest.mark.parametrize("tilt_deg", [0, 20, 40, 55])
def test_slanted_top_of_a_cone_is_an_exit_and_no_wall(tilt_deg):
    low, slope, height, bore = 3.5, 0.15, 6.0, 1.1
    body = cone_with_slanted_top(low, slope, height, bore, tilt_deg)

    found, pose = channel(body)
    wall, inner, _ = found.wall()

    # The bore reaches highest on the side of x; from its rim the mantle is nearest across.
    rim = height + bore * np.tan(np.radians(tilt_deg))
    across = low - slope * rim - bore
    # Under a level top the foot of the perpendicular lies over the mantle: straight across.
    expected = across if tilt_deg == 0 else across / np.hypot(1, slope)
    assert wall == pytest.approx(expected, abs=UM)
    assert found.exit_mm == pytest.approx(height, abs=0.05)
    facing = pose.rigid.rotation.T @ found.facing / np.linalg.norm(found.facing)
    tilt = np.radians(tilt_deg)
    np.testing.assert_allclose(facing, [-np.sin(tilt), 0, np.cos(tilt)], atol=1e-6)


def test_a_fan_of_rays_across_the_axis_would_take_the_rim_for_a_wall():
    vertices, faces = cone_with_slanted_top(3.5, 0.15, 6.0, 1.1, 40, sides=64)

    # Every hit of every ray; the wall is from the first to the last.
    least = np.inf
    for z in np.linspace(5.0, 6.9, 20):
        for turn in np.radians(np.arange(0, 360, 5)):
            hits = meetings(vertices, faces, z, [np.cos(turn), np.sin(turn), 0.0])
            if len(hits) > 1:
                least = min(least, hits.max() - hits.min())

    assert least < 0.1 < 1.3 < channel((vertices, faces))[0].wall()[0]


def meetings(vertices, faces, z, way):
    """How far from (0, 0, z) a ray meets each triangle that it meets (textbook formula)."""
    a, b, c = (vertices[faces[:, k]] for k in range(3))
    edges = np.stack([b - a, c - a, np.tile(-np.array(way), (len(a), 1))], axis=2)
    whole = np.abs(np.linalg.det(edges)) > 1e-12
    s, t, far = np.linalg.solve(edges[whole], ([0, 0, z] - a[whole])[..., None])[..., 0].T
    return far[(s >= 0) & (t >= 0) & (s + t <= 1) & (far > 0)]


def test_a_channel_that_leaves_through_a_steep_side_thins_its_wall_to_nothing():
    found, _ = channel(cone_with_slanted_top(3.5, 0.15, 6.0, 1.1, 70))

    assert found.wall()[0] < UM


def test_rounded_end_of_a_wall_is_no_thin_place():
    # The post's end is a half circle across its wall, from the bore to the outside.
    turn = np.linspace(0, np.pi, 25)
    end = [(1.6 + 0.5 * np.cos(t), 6.0 + 0.5 * np.sin(t)) for t in turn]
    profile = [(1.1, 0.0), (2.1, 0.0), *end, (1.1, 0.0)]
    found, _ = channel(turned_profile(profile, 128))

    assert found.wall()[0] == pytest.approx(1.0, abs=0.04)


def test_a_cavity_under_the_channel_is_no_channel():
    profile = [
        (3.0, 0.0), (3.6, 0.0), (3.6, 8.0), (1.3, 8.0), (1.3, 5.0), (1.9, 5.0), (3.0, 0.0),
    ]  # fmt: skip
    found, pose = channel(turned_profile(profile, 96))

    heights = found.local[found.bore][..., 2]
    assert heights.min() == pytest.approx(5.0, abs=0.11)
    assert found.wall()[0] == pytest.approx(3.6 - 1.3, abs=2 * UM)


def test_walls_are_told_by_height():
    found, _ = channel(abutment(top=7.0))

    walls = dict(found.by_height())

    assert walls[5.25] == pytest.approx(1.2 * FLAT, abs=5 * UM)
    assert walls[0.75] > walls[5.25]  # around the shaft, under the flare


def test_other_shells_and_lids_that_fold_do_not_move_the_wall():
    vertices, faces = tube(outer=3.0, inner=1.1, height=8.0, sides=128)
    clean = channel((vertices, faces))[0].wall()[0]
    stray = joined((vertices, faces), box(0.2, 0.2, 0.2, at=(8, 0, 3)))
    single = stray[0].astype(np.float32).astype(float)
    doubled = single, np.vstack([stray[1], stray[1][:3], stray[1][:3, ::-1]])

    assert channel(doubled)[0].wall()[0] == pytest.approx(clean, abs=UM)


def test_a_closed_part_has_no_channel():
    found, _ = channel(box(6, 6, 8, at=(-3, -3, 0)))

    assert not found.is_found and found.exit_mm is None


def test_a_turned_channel_has_two_legs_that_meet_at_the_bend():
    part, pose = placed(tube(outer=3.0, inner=1.1, height=8.0))
    axis = pose.axis + 0.3 * pose.toward

    lower, upper = legs_of(pose, 2.5, axis)

    bend = pose.origin_mm + 2.5 * pose.axis
    np.testing.assert_allclose(upper.pose.to_local(bend[None])[0], [0, 0, 2.5], atol=1e-9)
    np.testing.assert_allclose(upper.pose.axis, axis / np.linalg.norm(axis))
    assert (lower.high_mm, upper.low_mm) == (2.5, 2.5)


def test_wall_of_a_turned_channel_is_measured_around_its_own_axis():
    # A straight tube, seen as the upper leg of a channel that bends below it.
    vertices, faces = tube(outer=3.0, inner=1.1, height=8.0, sides=256)
    tilt = np.radians(20)
    turn = np.array(
        [[np.cos(tilt), 0, np.sin(tilt)], [0, 1, 0], [-np.sin(tilt), 0, np.cos(tilt)]]
    )
    part, pose = placed((vertices @ turn.T, faces))
    axis = pose.rigid.rotation @ turn @ [0, 0, 1.0]

    upper = legs_of(pose, 0.0, axis)[1]
    wall, _, _ = channel_of(Part("a", part.vertices, part.faces), upper, 0.3).wall()

    assert wall == pytest.approx(1.9, abs=UM)
