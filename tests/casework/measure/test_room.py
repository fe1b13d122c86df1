"""Is the room over and beside an implant that of plain bodies, however they lie in space?"""

import numpy as np
import pytest

from casework.measure.arch import ArchFrame, arch_frame
from casework.measure.room import axis_exit, gap_width, room_height
from casework.measure.surfaces.poses import Pose
from tests.casework.measure.plain_jaw import HALF_MM, PlainJaw
from tests.shapes import box, joined, rotation, sheet, sphere


def by_name(results):
    return {one.quantity: one for one in results}


def placed(body, seed=1):
    turn = rotation(seed)
    pose = Pose.of(seed * np.array([5.0, 6, 7]), turn @ [0, 0, 1.0], turn @ [1.0, 0, 0])
    return pose.to_world(body[0]), body[1], pose


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_height_to_a_ball_is_on_the_axis_and_least_beside_it(seed):
    vertices, faces = sphere(6.0, sides=200)
    vertices, faces, pose = placed((vertices + [4.0, 0, 20.0], faces), seed)

    found = by_name(room_height("46", pose, vertices, faces))

    # The ball's lower half over x = 0, and over x = 2.5, the edge of the disc; smoothing takes
    # some micrometres off a ball.
    assert found["room_height"].value == pytest.approx(20 - np.sqrt(36 - 16), abs=0.012)
    assert found["room_height_least"].value == pytest.approx(20 - np.sqrt(36 - 2.25), abs=0.012)


def test_stray_pieces_over_the_implant_do_not_count():
    roof = sheet(cells=60, size=30.0)
    roof = roof[0] * [1, 1, 0] + [-15, -15, 9.0], roof[1]
    stray = box(0.3, 0.3, 0.1, at=(0, 0, 4))
    vertices, faces, pose = placed(joined(roof, stray))

    found = by_name(room_height("46", pose, vertices, faces))

    assert found["room_height"].value == pytest.approx(9.0, abs=1e-6)
    assert found["room_height"].details["pieces_left_out"] == 1


def test_noise_makes_the_raw_least_height_too_small():
    vertices, faces = sheet(cells=150, size=30.0)
    flat = vertices * [1, 1, 0] + [-15, -15, 9.0]
    noisy = flat + np.random.default_rng(2).normal(0, 0.02, (len(flat), 1)) * [0, 0, 1.0]
    vertices, faces, pose = placed((noisy, faces))

    least = by_name(room_height("46", pose, vertices, faces))["room_height_least"]

    assert least.details["raw_mm"] < 8.95
    assert least.value == pytest.approx(9.0, abs=0.03)
    assert 0.01 < least.uncertainty < 0.04


@pytest.mark.parametrize("lean_deg", [0, 60, 80])
def test_height_on_a_flank_is_as_unsure_as_the_flank_is_steep(lean_deg):
    """Noise across a plane comes as its size / cos along the axis (elementary geometry)."""
    vertices, faces = sheet(cells=150, size=30.0)
    flat = vertices * [1, 1, 0] + [-15, -15, 0]
    noisy = flat + np.random.default_rng(2).normal(0, 0.02, (len(flat), 1)) * [0, 0, 1.0]
    turn = np.radians(lean_deg)
    cosine, sine = np.cos(turn), np.sin(turn)
    leaning = noisy @ [[cosine, 0, -sine], [0, 1, 0], [sine, 0, cosine]] + [0, 0, 30.0]
    vertices, faces, pose = placed((leaning, faces))

    height = by_name(room_height("46", pose, vertices, faces))["room_height"]

    assert abs(height.value - 30.0) < height.uncertainty
    assert 0.01 < height.uncertainty * cosine < 0.05


def test_height_to_a_coarse_ball_says_what_its_facets_leave_open():
    """Facets lie at most 1 - cos(half the angle between rings) x sqrt 2 of the radius under."""
    for sides in (20, 40):
        vertices, faces = sphere(6.0, sides=sides)
        turn = rotation(5)
        vertices, faces, pose = placed((vertices @ turn.T + [0, 0, 20.0], faces))

        height = by_name(room_height("46", pose, vertices, faces))["room_height"]

        most = 6.0 * (1 - np.cos(np.sqrt(2) * np.pi / sides))
        assert height.value > 14.0 - 0.003
        assert abs(height.value - 14.0) < height.uncertainty < 2 * most


def over_a_fissure(random, deep, noise, edge=0.43, half=0.5):
    """A sheet of long edges over a fissure like a bell curve, and its height on the axis."""
    vertices, faces = sheet(36, 36 * edge)
    plan = vertices[:, :2] - 18 * edge + random.uniform(-0.5, 0.5, 2) * edge
    turn, aside = random.uniform(0, np.pi), random.uniform(-1, 1)

    def height(x):
        return 9 + deep * np.exp(-(((x - aside) / half) ** 2) / 2)

    plan = plan @ [[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]]
    heights = height(plan[:, 0]) + random.normal(0, noise, len(plan))
    return np.column_stack([plan, heights]), faces, height(0)


def test_the_height_over_a_fissure_that_facets_bridge_lies_within_its_doubt():
    random, pose = np.random.default_rng(5), Pose.of([0, 0, 0], [0, 0, 1])
    shares = []
    for deep, noise in np.repeat([(0.5, 0.01), (0.5, 0.03), (1, 0.01), (1, 0.03)], 100, axis=0):
        vertices, faces, true = over_a_fissure(random, deep, noise)
        height, _ = room_height("46", pose, vertices, faces)
        shares.append(abs(height.value - true) / height.uncertainty)

    # Half of the 95 % interval; nor is it so wide that it says nothing.
    assert 0.95 <= np.mean(np.array(shares) < 1) and np.median(shares) > 0.1


def test_opposing_scan_that_ends_before_the_site_is_not_known():
    vertices, faces, pose = placed(box(10, 10, 1, at=(20, 0, 9)))

    for one in room_height("46", pose, vertices, faces):
        assert not one.is_known and "46" in one.because


@pytest.mark.parametrize("jaw, site, seed", [
    ("lower", "46", 1), ("lower", "35", 2), ("upper", "26", 3), ("upper", "15", 4),
])  # fmt: skip
def test_width_of_a_single_gap_is_that_between_its_neighbours(jaw, site, seed):
    made = PlainJaw(jaw, missing=(site,), seed=seed, sides=120)
    pose = made.pose(site, lean_out_deg=6)
    frame = arch_frame(made.vertices, made.faces, site, pose)

    found = by_name(gap_width([site], {site: pose}, {site: frame}, made.vertices, made.faces))

    assert found["gap_width"].value == pytest.approx(between(made, site, site), abs=0.02)
    assert found["unit_width"].value == found["gap_width"].value
    assert found["gap_width"].value == pytest.approx(2 * HALF_MM[int(site[1])][0], abs=0.3)


def between(made, first, last):
    """The twin: the least distance of finely sampled ellipsoids beside the gap."""
    from scipy.spatial import cKDTree

    row = sorted(made.places, key=made.places.get)
    ends = sorted((row.index(first), row.index(last)))
    beside = row[ends[0] - 1], row[ends[1] + 1]
    low, high = (made.tooth(site, 360)[0] for site in beside)
    return cKDTree(low).query(high)[0].min()


def test_width_of_several_units_runs_along_the_arch_and_is_shared():
    made = PlainJaw(missing=("44", "45", "46"), seed=5, sides=80)
    poses = {site: made.pose(site) for site in ("44", "46")}
    frames = {
        site: arch_frame(made.vertices, made.faces, site, pose, poses)
        for site, pose in poses.items()
    }

    found = by_name(gap_width(["44", "45", "46"], poses, frames, made.vertices, made.faces))

    whole = 2 * sum(HALF_MM[place][0] for place in (4, 5, 6))
    assert found["gap_width"].value == pytest.approx(whole, abs=0.6)
    assert found["unit_width"].value == pytest.approx(found["gap_width"].value / 3)
    assert found["gap_width"].details["chord_mm"] <= found["gap_width"].value + 0.1


def test_scan_bodies_in_the_gap_are_no_neighbours():
    made = PlainJaw(missing=("46",), seed=2, sides=80)
    pose = made.pose("46")
    frame = arch_frame(made.vertices, made.faces, "46", pose)
    body = box(4, 4, 12, at=(-2, -2, 0))
    vertices, faces = joined((made.vertices, made.faces), (pose.to_world(body[0]), body[1]))
    one = {"46": pose}, {"46": frame}

    clean = gap_width(["46"], *one, made.vertices, made.faces)[0].value
    assert gap_width(["46"], *one, vertices, faces, True)[0].value == pytest.approx(clean)


def test_a_free_end_has_no_width():
    made = PlainJaw(missing=("47",), seed=3)
    pose = made.pose("47")
    frame = arch_frame(made.vertices, made.faces, "47", pose)

    for one in gap_width(["47"], {"47": pose}, {"47": frame}, made.vertices, made.faces):
        assert not one.is_known and "distal of ISO 47" in one.because


def test_a_gap_without_an_implant_has_no_width():
    found = gap_width(["46"], {}, {}, *box())

    assert not found[0].is_known and "46" in found[0].because


@pytest.mark.parametrize("site, lean_deg, region", [
    ("11", 0, "incisal"), ("11", 12, "labial"), ("11", -12, "palatal"), ("46", 5, "occlusal"),
    ("46", 25, "buccal"), ("46", -25, "lingual"),
])  # fmt: skip
def test_axis_comes_out_on_the_side_toward_which_it_leans(site, lean_deg, region):
    made = PlainJaw("upper" if site == "11" else "lower", missing=(site,), seed=4)
    occlusal, outward, distal = made.directions(site)
    pose = made.pose(site, lean_out_deg=lean_deg)
    level = made.rigid.apply(made.frame(made.places[site])[0][None])[0]
    frame = ArchFrame(site, occlusal, outward, distal, level)

    found = axis_exit(site, pose, frame)

    assert found.value == pytest.approx(abs(lean_deg), abs=1e-4)
    assert found.details["region"] == region
    assert found.details["outward_deg"] == pytest.approx(lean_deg, abs=1e-6)
    # The axis rises 11 mm from the platform to the occlusal plane.
    assert found.details["aside_mm"] == pytest.approx(11 * np.tan(np.radians(lean_deg)))


def test_without_sides_the_exit_is_occlusal_or_unnamed():
    up, out, distal = np.eye(3)[[2, 1, 0]]
    frame = ArchFrame("46", up, out, distal, np.array([0, 0, 10.0]), "It is straight.")

    assert axis_exit("46", Pose.of([0, 0, 0], up), frame).details["region"] == "occlusal"
    leaning = axis_exit("46", Pose.of([0, 0, 0], [0, 1, 1]), frame)
    assert leaning.details["region"] == "" and leaning.details["outward_deg"] > 0
    assert not axis_exit("46", Pose.of([0, 0, 0], out), frame).is_known
    assert not axis_exit("46", Pose.of([0, 0, 0], up), None).is_known
