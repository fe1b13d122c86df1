"""Is a surface found again wherever it lies, mirrored or scaled, and is another refused?

Bodies are of closed form (elementary geometry); which of them equal their mirror image follows
from their symmetry.
"""

import numpy as np
import pytest

from casework.demo.meshes.arches import lower_arch, upper_arch
from casework.measure.surfaces.pieces import compacted
from casework.measure.surfaces.placing import place
from casework.measure.surfaces.poses import Rigid
from casework.measure.surfaces.sampled import Sampled
from tests.shapes import box, cylinder, joined, rotation, sphere, tetrahedron, torus

GAP = ("45", "46", "47")


def arch(seed=1, noise_seed=1, **how):
    scan = lower_arch(seed, GAP, triangles=40_000, noise_um=15, noise_seed=noise_seed, **how)
    return scan.vertices, scan.faces


def motion(seed):
    shift = np.random.default_rng(seed).normal(0, 40, 3)
    return Rigid(rotation(seed), shift)


def mirrored(vertices, faces):
    return vertices * [-1, 1, 1], faces[:, ::-1]


@pytest.mark.parametrize("seed", range(3))
def test_a_scan_is_found_again_anywhere(seed):
    vertices, faces = arch(seed)
    again, others = arch(seed, noise_seed=2)
    there = motion(seed)

    found = place(Sampled(there.apply(again), others), Sampled(vertices, faces))

    assert found.kind == "moved"
    np.testing.assert_allclose(found.apply(there.apply(again)), again, atol=0.008)


def test_two_scans_of_one_jaw_lie_in_place():
    found = place(Sampled(*arch()), Sampled(*arch(noise_seed=2)))

    shift, _, doubt = found.largest_shift()
    assert found.kind == "in place"
    assert shift < 0.006 and 0.0005 < doubt < 0.01


def test_a_segment_is_found_on_the_whole_arch():
    vertices, faces = arch()
    part = lower_arch(1, GAP, span=("43", "47"), triangles=15_000, noise_um=15, noise_seed=7)
    there = motion(5)

    for one, other, true in (
        ((there.apply(part.vertices), part.faces), (vertices, faces), part.vertices),
        ((there.apply(vertices), faces), (part.vertices, part.faces), vertices),
    ):
        found = place(Sampled(*one), Sampled(*other))
        assert found.kind == "moved"
        near = np.linalg.norm(true - part.vertices.mean(axis=0), axis=1) < 15
        off = np.linalg.norm(found.apply(one[0]) - true, axis=1)[near]
        assert off.max() < 0.02


@pytest.mark.parametrize("keeps_winding", [False, True])
def test_a_mirrored_scan_is_told(keeps_winding):
    vertices, faces = arch()
    there = motion(2)
    flipped, turned = mirrored(vertices, faces)

    found = place(
        Sampled(there.apply(flipped), faces if keeps_winding else turned),
        Sampled(*arch(noise_seed=2)),
    )

    assert found.kind == "mirrored" and np.linalg.det(found.rigid.rotation) < 0
    assert found.is_turned_over == keeps_winding


def test_a12_a_mirrored_tetrahedron_is_told_although_its_volume_and_box_are_equal():
    vertices, faces = tetrahedron(10, 7, 4)
    other = vertices * [-1, 1, 1] + [10, 0, 0], faces[:, ::-1]

    found = place(Sampled(vertices, faces), Sampled(*other))

    assert found.kind == "mirrored" and found.share == found.other_share == 1.0


SYMMETRIC = {
    "box": box(10, 8, 6), "cube": box(8, 8, 8), "cylinder": cylinder(),
    "ball": sphere(sides=24), "ring": torus(8, 2),
}  # fmt: skip


@pytest.mark.parametrize("name", SYMMETRIC)
def test_a_body_that_equals_its_mirror_image_is_not_called_mirrored(name):
    vertices, faces = SYMMETRIC[name]
    flipped, turned = mirrored(vertices, faces)

    found = place(Sampled(vertices, faces), Sampled(motion(4).apply(flipped), turned))

    assert found.kind == "moved"


def test_a_box_with_a_knob_beside_its_planes_of_symmetry_is_told_mirrored():
    body = joined(box(12, 10, 6), box(1.5, 1.5, 1.5, at=(1, 1.5, 6)))

    found = place(Sampled(*body), Sampled(*mirrored(*body)))

    assert found.kind == "mirrored"


@pytest.mark.parametrize(("factor", "unit"), [(25.4, "inch"), (10, "centimetre"), (1.2, "")])
def test_a_scaled_body_is_told_with_its_factor(factor, unit):
    vertices, faces = tetrahedron(10, 7, 4)

    found = place(Sampled(vertices, faces), Sampled(vertices * factor + 3, faces))

    assert found.kind == "scaled" and found.unit == unit
    assert found.factor == pytest.approx(factor, rel=1e-6)


def test_a_scan_in_metres_is_told():
    vertices, faces = arch(noise_seed=2)

    found = place(Sampled(vertices / 1000, faces), Sampled(*arch()))

    assert found.kind == "scaled" and found.factor == 1000 and found.unit == "metre"


def test_another_patient_and_the_other_jaw_are_refused():
    own = Sampled(*arch())
    upper = upper_arch(1, triangles=40_000, noise_um=15)

    assert place(Sampled(*arch(2)), own).kind == "unlike"
    assert place(Sampled(upper.vertices, upper.faces), own).kind == "unlike"


def test_another_body_is_refused():
    assert place(Sampled(*sphere(5)), Sampled(*torus(20, 5))).kind == "unlike"


def test_nothing_lies_on_nothing():
    nothing = Sampled(np.zeros((0, 3)), np.zeros((0, 3), int))
    flat = Sampled(np.zeros((3, 3)), np.array([[0, 1, 2]]))

    assert place(nothing, Sampled(*box())).kind == "unlike"
    assert place(Sampled(*box()), flat).kind == "unlike"


def test_places_left_out_have_no_say():
    vertices, faces = arch()
    changed = vertices.copy()
    is_out = vertices[:, 0] > 5  # more than a third
    changed[is_out] += [0.2, 0.1, 0.15]

    found = place(
        Sampled(changed, faces), Sampled(vertices, faces),
        is_left_out=lambda points: points[:, 0] > 4.5,
    )  # fmt: skip

    assert found.kind == "in place" and found.share > 0.99


def test_half_a_scan_that_is_gone_does_not_hide_that_it_moved():
    vertices, faces = arch()
    kept = compacted(vertices, faces[vertices[faces].mean(axis=1)[:, 0] > 0])
    there = motion(9)

    found = place(Sampled(there.apply(kept[0]), kept[1]), Sampled(*arch(noise_seed=3)))

    assert found.kind == "moved"
    np.testing.assert_allclose(found.apply(there.apply(kept[0])), kept[0], atol=0.02)
