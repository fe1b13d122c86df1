"""Are distance, divergence, draft, path and taper those of elementary geometry?"""

import numpy as np
import pytest

from casework.measure.relations import (
    Doubt,
    Wall,
    between_implants,
    insertion_path,
    post_taper,
)
from casework.measure.surfaces.poses import Pose
from tests.shapes import rotation, turned_profile

HEIGHT = 5.0


def about_y(degrees):
    c, s = np.cos(np.radians(degrees)), np.sin(np.radians(degrees))
    return np.array([[c, 0, s], [0, 1, 0], [-s, 0, c]])


def post(site, taper_deg, turn=None, at=(0, 0, 0), radius=2.5, sides=360):
    """The mantle of a frustum: each side of it has the draft `taper_deg`."""
    steps = np.linspace(0, HEIGHT, 13)
    profile = [(radius - np.tan(np.radians(taper_deg)) * z, z) for z in steps]
    vertices, faces = turned_profile(profile, sides)
    turn = np.eye(3) if turn is None else turn
    return Wall.of(site, vertices @ turn.T + at, faces)


def by_name(results):
    return {(one.quantity, one.subject): one for one in results}


def test_distance_and_divergence_of_two_poses():
    turn = rotation(4)
    first = Pose.of([1, 2, 3], turn @ [0, 0, 1])
    second = Pose.of(first.origin_mm + turn @ [6, 8, 0], turn @ about_y(7) @ [0, 0, 1])

    found = by_name(between_implants({"45": first, "47": second}))

    assert found["implant_distance", "45-47"].value == pytest.approx(10.0)
    assert found["implant_divergence", "45-47"].value == pytest.approx(7.0)
    assert found["implant_distance", "45-47"].uncertainty is None


def test_doubt_of_poses_is_that_of_repeated_draws():
    random = np.random.default_rng(3)
    poses = {"45": Pose.of([0, 0, 0], [0, 0, 1]), "47": Pose.of([15, 0, 0], [0.1, 0, 1])}
    doubts = {"45": Doubt.of_95(0.010, 0.05), "47": Doubt.of_95(0.006, 0.03)}

    found = by_name(between_implants(poses, doubts))

    # Monte Carlo: each pose is moved and turned by normal errors of its own covariances.
    draws = {}
    for site, pose in poses.items():
        shift = random.multivariate_normal(np.zeros(3), doubts[site].shift, 20_000)
        turn = random.multivariate_normal(np.zeros(3), doubts[site].turn, 20_000)
        draws[site] = pose.origin_mm + shift, pose.axis + np.cross(turn, pose.axis)
    length = np.linalg.norm(draws["47"][0] - draws["45"][0], axis=1)
    a, b = draws["45"][1], draws["47"][1]
    angle = np.degrees(np.arctan2(np.linalg.norm(np.cross(a, b), axis=1), (a * b).sum(axis=1)))
    for quantity, values in (("implant_distance", length), ("implant_divergence", angle)):
        one = found[quantity, "45-47"]
        assert np.mean(np.abs(values - one.value) < one.uncertainty) == pytest.approx(
            0.95, abs=0.01
        )


def test_three_quarters_of_the_radius_are_kept_by_95_percent_of_errors():
    random, doubt = np.random.default_rng(5), Doubt.of_95(0.02, 0.1)

    shift = random.multivariate_normal(np.zeros(3), doubt.shift, 40_000)
    tilt = np.degrees(random.multivariate_normal(np.zeros(2), doubt.turn[:2, :2], 40_000))

    assert np.mean(np.linalg.norm(shift, axis=1) < 0.02) == pytest.approx(0.95, abs=0.005)
    assert np.mean(np.linalg.norm(tilt, axis=1) < 0.1) == pytest.approx(0.95, abs=0.005)


@pytest.mark.parametrize("tilt, taper", [(10, 6), (6, 4), (10, 4), (0, 3)])
def test_common_path_halves_the_angle_between_two_equal_posts(tilt, taper):
    turn = rotation(7)
    walls = [
        post("45", taper, turn @ about_y(-tilt / 2)),
        post("47", taper, turn @ about_y(tilt / 2), turn @ [18, 0, 0]),
    ]
    poses = {"45": Pose.of([0, 0, 0], turn @ about_y(-tilt / 2) @ [0, 0, 1])}

    found = by_name(insertion_path(walls, poses))

    whole = found["path_draft", "45-47"]
    assert whole.value == pytest.approx(taper - tilt / 2, abs=0.005)
    direction = np.array(whole.details["direction"])
    off = np.degrees(np.arccos(min(direction @ turn @ [0, 0, 1], 1.0)))
    assert off < 0.02
    assert found["path_angle", "45"].value == pytest.approx(tilt / 2, abs=0.01)
    assert not found["path_angle", "47"].is_known
    assert found["post_draft", "45"].value == pytest.approx(taper - tilt / 2, abs=0.005)


def test_overhanging_wall_is_an_undercut_as_deep_as_its_slope_says():
    walls = [
        post("45", 4, about_y(-5)),
        post("47", 4, about_y(5), [18, 0, 0]),
    ]

    found = by_name(insertion_path(walls))

    # Each outer wall leans 1 degree over the path, along the length of the wall.
    along = HEIGHT / np.cos(np.radians(4))
    for site in ("45", "47"):
        assert found["post_draft", site].value == pytest.approx(-1.0, abs=0.005)
        depth = found["path_undercut", site]
        assert depth.value == pytest.approx(along * np.sin(np.radians(1)), abs=0.002)
        # It lies at the foot of the wall, on the side away from the other post.
        assert abs(depth.place_mm[2]) < 0.3


def test_posts_that_slide_on_have_no_undercut():
    found = by_name(insertion_path([post("45", 4), post("47", 4, at=[18, 0, 0])]))

    assert found["path_undercut", "45"].value == 0.0
    assert found["path_undercut", "45"].place_mm is None


def test_path_of_posts_with_other_tapers_is_that_of_a_fine_search():
    walls = [
        post("43", 5, about_y(-6)),
        post("45", 3, about_y(1), [9, 0, 0]),
        post("47", 6, rotation(1) @ about_y(2) @ rotation(1).T @ about_y(4), [18, 3, 0]),
    ]

    whole = insertion_path(walls)[0]

    best = np.array(whole.details["direction"])
    normals = np.vstack([wall.normals for wall in walls])
    frame = Pose.of([0, 0, 0], best).rigid.rotation
    for reach in (0.05, 0.01, 0.002):  # the twin: nothing around the direction is better
        steps = np.linspace(-reach, reach, 41)
        x, y = (one.ravel() for one in np.meshgrid(steps, steps))
        tried = np.column_stack([x, y, np.ones_like(x)]) @ frame.T
        tried /= np.linalg.norm(tried, axis=1)[:, None]
        least = np.degrees(np.arcsin((normals @ tried.T).min(axis=0)))
        assert least.max() < whole.value + 1e-6


@pytest.mark.parametrize("seed", range(3))
def test_trembling_normals_of_a_mesh_hardly_move_the_path(seed):
    random = np.random.default_rng(seed)
    walls = []
    for site, tilt, at in (("45", -2, 0), ("47", 2, 18)):
        wall = post(site, 5, about_y(tilt), [at, 0, 0], sides=120)
        shaken = wall.vertices + random.normal(0, 0.001, wall.vertices.shape)
        walls.append(Wall.of(site, shaken, wall.faces))

    whole = insertion_path(walls)[0]

    # Corners shaken by 1 µm tilt single triangles by half a degree and more.
    assert whole.value == pytest.approx(3.0, abs=0.2)
    assert np.degrees(np.arccos(whole.details["direction"][2])) < 0.3


@pytest.mark.parametrize("taper", [3.0, 6.0])
def test_taper_of_a_post_is_the_sum_of_opposite_walls(taper):
    turn = rotation(9)

    found = post_taper(post("45", taper, turn, [3, 4, 5]))

    assert found.value == pytest.approx(2 * taper, abs=0.01)
    assert found.details["least_deg"] == pytest.approx(2 * taper, abs=0.01)
    np.testing.assert_allclose(found.details["direction"], turn @ [0, 0, 1], atol=2e-4)


def test_post_without_a_wall_is_not_known():
    wall = post("45", 4)
    none = Wall.of("47", wall.vertices, wall.faces[:0])

    (path,) = insertion_path([wall, none])

    assert not path.is_known and "47" in path.because
    assert not post_taper(none).is_known
    assert not insertion_path([])[0].is_known
