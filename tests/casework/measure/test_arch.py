"""Are the sides at a site found, however a scan lies in space, and doubted where they must?"""

import numpy as np
import pytest

from casework.demo.meshes import lower_arch, upper_arch
from casework.measure.arch import ArchFrame, arch_frame
from casework.measure.surfaces.poses import Pose
from tests.casework.measure.plain_jaw import PlainJaw


def off_deg(one, two):
    return np.degrees(np.arccos(np.clip(one @ two, -1, 1)))


@pytest.mark.parametrize("jaw", ["lower", "upper"])
@pytest.mark.parametrize("place", [1, 3, 4, 6, 7])
@pytest.mark.parametrize("side", [0, 1])
def test_directions_of_a_whole_arch_of_plain_bodies(jaw, place, side):
    site = f"{PlainJaw(jaw).quadrants[side]}{place}"
    made = PlainJaw(jaw, missing=(site,), seed=place)
    pose = made.pose(site, lean_out_deg=8, lean_along_deg=-5)

    frame = arch_frame(made.vertices, made.faces, site, pose)

    occlusal, outward, distal = made.directions(site)
    assert off_deg(frame.occlusal, occlusal) < 4
    assert off_deg(frame.outward, outward) < 10
    assert off_deg(frame.distal, distal) < 10
    assert frame.has_sides
    middle = made.rigid.inverse().apply(frame.middle_mm[None])[0]
    aside = (middle - made.frame(made.places[site])[0]) @ made.frame(made.places[site])[1]
    assert abs(aside) < 2.0 and abs(middle[2]) < 1.5


@pytest.mark.parametrize("scan, site, span", [
    (lower_arch, "36", None), (lower_arch, "41", None),
    (upper_arch, "11", ("14", "24")), (upper_arch, "24", ("27", "22")),
])  # fmt: skip
def test_directions_of_synthetic_scans(scan, site, span):
    mesh = scan(5, (site,), span=span, triangles=15_000)
    implant = mesh.implants[site]

    frame = arch_frame(mesh.vertices, mesh.faces, site, Pose.of(implant.platform, implant.axis))

    up = 1.0 if site[0] in "34" else -1.0
    front = site[1] == "1"
    assert off_deg(frame.occlusal, np.array([0, 0, up])) < 8
    # The demo's x points to the patient's right, y to the front.
    right = 1.0 if site[0] in "14" else -1.0
    outward = np.array([0, 1.0, 0]) if front else np.array([right, 0.3, 0])
    assert frame.has_sides
    assert off_deg(frame.outward, outward / np.linalg.norm(outward)) < 25
    assert frame.distal @ (np.array([right, 0, 0]) if front else np.array([0, -1.0, 0])) > 0.85


def test_a_straight_stretch_alone_does_not_tell_cheek_from_tongue():
    made = PlainJaw(only=("45", "46", "47"), missing=("46",), seed=2)

    frame = arch_frame(made.vertices, made.faces, "46", made.pose("46"))

    assert not frame.has_sides and "46" in frame.because
    assert frame.sides() == {} and frame.region_of(frame.outward) == ""
    assert frame.region_of(frame.occlusal) == "occlusal"


@pytest.mark.parametrize("sites", [("45", "47"), ("37", "35"), ("24", "26"), ("17", "15")])
def test_two_sites_tell_the_sides_of_a_straight_stretch(sites):
    jaw = "lower" if sites[0][0] in "34" else "upper"
    stretch = [f"{sites[0][0]}{place}" for place in (4, 5, 6, 7)]
    made = PlainJaw(jaw, only=stretch, missing=sites, seed=3)
    poses = {site: made.pose(site) for site in sites}

    for site in sites:
        frame = arch_frame(made.vertices, made.faces, site, poses[site], poses)
        _, outward, distal = made.directions(site)
        assert frame.has_sides
        assert frame.outward @ outward > 0.9 and frame.distal @ distal > 0.9


def test_a_closed_model_is_no_worse_than_an_open_scan():
    made = PlainJaw("lower", missing=("46",))
    frame = arch_frame(made.vertices, made.faces, "46", made.pose("46", 12, 0))

    # The bodies of this jaw are closed: their normals add up to nothing.
    assert off_deg(frame.occlusal, np.array([0, 0, 1.0])) < 4


FRAMES = {
    "11": ("incisal", "labial", "palatal"),
    "43": ("incisal", "labial", "lingual"),
    "26": ("occlusal", "buccal", "palatal"),
    "47": ("occlusal", "buccal", "lingual"),
}


@pytest.mark.parametrize("site", FRAMES)
def test_sides_have_the_words_of_the_tooth(site):
    up, out, distal = np.eye(3)[[2, 1, 0]]
    frame = ArchFrame(site, up, out, distal, np.zeros(3))
    biting, outer, inner = FRAMES[site]

    assert frame.region_of(up) == biting
    assert frame.region_of(up + 1.1 * out) == outer
    assert frame.region_of(-out + 0.2 * distal) == inner
    assert frame.region_of(0.9 * out + up) == biting
    assert frame.region_of(distal) == "distal" and frame.region_of(-distal) == "mesial"
    assert set(frame.sides()) == {biting, outer, inner, "mesial", "distal"}


def test_lean_is_told_toward_lip_and_distally():
    up, out, distal = np.eye(3)[[2, 1, 0]]
    frame = ArchFrame("11", up, out, distal, np.zeros(3))

    assert frame.leans_deg(np.array([0, 1, 1]) / np.sqrt(2)) == pytest.approx((45.0, 0.0))
    assert frame.leans_deg(np.array([-np.tan(np.radians(7)), 0, 1])) == pytest.approx((0, -7))


def test_without_a_surface_there_is_no_frame():
    assert (
        arch_frame(np.zeros((0, 3)), np.zeros((0, 3), int), "11", Pose.of([0, 0, 0], [0, 0, 1]))
        is None
    )
