"""Are two scans told to lie in one frame, moved, mirrored, of another jaw or patient?"""

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from casework.demo.meshes.arches import lower_arch, upper_arch
from casework.demo.meshes.jaws import lower_jaw
from casework.demo.meshes.scan_bodies import ScanBodyForm
from casework.measure.frames import facing, same_frame, same_patient
from casework.measure.meshes import Mesh
from casework.measure.surfaces.poses import Rigid
from tests.shapes import box

GAP, HELD = ("45", "46", "47"), ("45", "47")


def mesh(vertices, faces):
    return Mesh(np.asarray(vertices, float), np.asarray(faces, np.int32))


def scan(seed=1, bodies=(), make=lower_arch, missing=GAP, noise_seed=1, **how):
    forms = {site: ScanBodyForm() for site in bodies}
    found = make(seed, missing, forms, triangles=50_000, noise_seed=noise_seed, **how)
    return mesh(found.vertices, found.faces)


@pytest.fixture(scope="module")
def with_bodies():
    return scan(bodies=HELD, noise_um=20)


@pytest.fixture(scope="module")
def without():
    return scan(noise_um=20, noise_seed=2)


@pytest.fixture(scope="module")
def axes():
    """Points on the axes of the scan bodies, from the generator."""
    implants = lower_jaw(1, GAP).implants.values()
    return np.array([one.platform + up * one.axis for one in implants for up in range(9)])


def value_of(found, name):
    return next(one for one in found.results if one.quantity == name)


def moved(rigid, surface):
    return mesh(rigid.apply(surface.vertices), surface.faces)


def test_scans_with_and_without_scan_bodies_lie_in_one_frame(with_bodies, without, axes):
    found = same_frame(with_bodies, without, subject="lower", apart_from=axes)

    assert found.kind == "in place" and "one frame" in found.sentence
    assert value_of(found, "frame_shift").value < 0.01
    assert value_of(found, "frame_turn").value < 0.02
    assert value_of(found, "frame_share").value > 0.9
    # The distance between two noisy surfaces: σ√2, and less as it is the nearest one.
    assert 12 < value_of(found, "frame_residual").value < 29


def test_a_slip_of_the_frame_is_told_with_its_doubt(with_bodies, without, axes):
    slip = Rigid(Rotation.from_rotvec([0, 0, np.radians(0.1)]).as_matrix(), np.zeros(3))

    found = same_frame(with_bodies, moved(slip, without), subject="lower", apart_from=axes)

    assert found.kind == "moved" and "same jaw, but moved" in found.sentence
    assert value_of(found, "frame_turn").value == pytest.approx(0.1, abs=0.01)
    shift = value_of(found, "frame_shift")
    reach = np.linalg.norm(without.vertices[:, :2], axis=1)
    assert shift.value == pytest.approx(np.radians(0.1) * reach.max(), rel=0.1)
    assert 0 < shift.uncertainty < 0.01
    at = np.linalg.norm(axes[:, :2], axis=1).max() * np.radians(0.1)
    assert shift.details["shift_at_places_left_out_mm"] == pytest.approx(at, abs=0.005)


def test_scan_bodies_that_stand_elsewhere_have_no_say(without, axes):
    """What stands in place of the gap is left out, so that only the neighbours count."""
    vertices = without.vertices.copy()
    near = np.linalg.norm(vertices[:, None] - axes[None], axis=2).min(axis=1) < 3.5
    vertices[near] += [0, 0, 0.3]

    found = same_frame(mesh(vertices, without.faces), without, subject="lower", apart_from=axes)

    assert found.kind == "in place" and value_of(found, "frame_share").value > 0.999


def test_a_scan_far_away_is_the_same_jaw_but_moved(with_bodies, without):
    away = Rigid(Rotation.random(random_state=4).as_matrix(), np.array([90.0, -40, 10]))

    found = same_frame(with_bodies, moved(away, without), subject="lower")

    assert found.kind == "moved"
    back = np.array(value_of(found, "frame_shift").details["matrix"])
    np.testing.assert_allclose(back @ away.matrix, np.eye(4), atol=0.02)


def test_mirrored_and_other_unit_are_told(with_bodies, without):
    mirror = mesh(without.vertices * [-1, 1, 1], without.faces[:, ::-1])
    inch = mesh(without.vertices / 25.4, without.faces)

    found = same_frame(with_bodies, mirror, subject="lower")
    other = same_frame(with_bodies, inch, subject="lower")

    assert found.kind == "mirrored" and not value_of(found, "frame_shift").is_known
    assert other.kind == "scaled" and "inch" in other.sentence


def test_the_opposing_jaw_given_in_its_place_is_named(with_bodies):
    upper = scan(make=upper_arch, missing=(), noise_seed=3)

    found = same_frame(with_bodies, with_bodies, subject="lower", others={"upper.stl": upper})
    swapped = same_frame(upper, with_bodies, subject="lower", others={"upper.stl": upper})

    assert found.kind == "in place"
    assert swapped.kind == "unlike" and "upper.stl" in swapped.sentence
    assert all(not one.is_known for one in swapped.results if one.quantity != "frame_share")


def test_an_earlier_scan_before_teeth_were_lost_is_the_same_patient(with_bodies):
    earlier = scan(missing=(), noise_seed=9)
    away = Rigid(Rotation.random(random_state=6).as_matrix(), np.array([20.0, 4, 10]))

    found = same_patient(with_bodies, moved(away, earlier), subject="lower")

    assert found.kind == "moved"
    assert 0.6 < value_of(found, "earlier_scan_share").value < 0.95
    assert value_of(found, "earlier_scan_residual").value < 30


@pytest.mark.parametrize("seed", [2, 3])
def test_another_patient_is_told(with_bodies, seed):
    found = same_patient(with_bodies, scan(seed), subject="lower")

    assert found.kind == "unlike" and "another jaw or patient" in found.sentence


def test_jaws_face_each_other_only_in_their_bite(without):
    upper = scan(make=upper_arch, missing=(), noise_seed=3)

    def kind(shift):
        there = mesh(upper.vertices + shift, upper.faces)
        return facing(without, there, subject="jaws").details["kind"]

    assert kind([0, 0, 0]) == kind([0, 0, 2]) == "facing"
    assert kind([0, 0, -3]) == "running into each other"
    assert kind([150, 0, 0]) == "in another frame"


def test_facing_sides_of_two_boxes_have_their_area():
    lower, upper = box(10, 10, 5), box(10, 10, 5, at=(0, 0, 6))

    told = facing(mesh(*lower), mesh(*upper), subject="jaws")

    assert told.details["facing_area_mm2"] == pytest.approx(100, rel=0.02)
    assert told.value == pytest.approx(100 / 400, rel=0.02)
    assert not facing(
        mesh(*lower), mesh(np.zeros((0, 3)), np.zeros((0, 3))), subject="jaws"
    ).is_known
