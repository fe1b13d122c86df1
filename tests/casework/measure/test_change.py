"""Is what became of a surface told as it was made: moved, bumped, cut off, put on, mirrored?

Truths are closed forms: the motion, the height and place of a bump, the area of the triangles
cut off, the change of a box's side.
"""

import numpy as np
import pytest

from casework.demo.meshes.arches import lower_arch
from casework.measure.change import compare, scan_body_moved
from casework.measure.meshes import Mesh
from casework.measure.surfaces.normals import face_areas, vertex_normals
from casework.measure.surfaces.pieces import compacted
from casework.measure.surfaces.poses import Pose, Rigid
from casework.measure.surfaces.smoothing import smoothed
from tests.shapes import box, joined, rotation, sphere, tetrahedron


def mesh(vertices, faces):
    return Mesh(np.asarray(vertices, float), np.asarray(faces, np.int32))


@pytest.fixture(scope="module")
def raw():
    scan = lower_arch(1, ("45", "46", "47"), triangles=90_000, noise_um=20, noise_seed=1)
    return scan.vertices, scan.faces.astype(np.int32)


@pytest.fixture(scope="module")
def processed(raw):
    return smoothed(*raw, 2), raw[1]


def value_of(found, name):
    return next(one for one in found.results if one.quantity == f"change_{name}")


def bumped(vertices, faces, at, height_mm, wide_mm=1.0):
    away = ((vertices - at) ** 2).sum(axis=1)
    height = height_mm * np.exp(-away / (2 * wide_mm**2))
    return vertices + vertex_normals(vertices, faces) * height[:, None]


def test_a_scan_is_identical_to_itself(raw):
    found = compare(mesh(*raw), mesh(*raw), subject="lower")

    assert found.kind == "identical" and all(one.is_known for one in found.results)
    assert not found.after_mm.any()


def test_triangles_in_another_order_are_the_same_surface():
    vertices, faces = box()

    found = compare(mesh(vertices, faces), mesh(vertices, faces[::-1]), subject="part")

    assert found.kind == "same surface"
    assert value_of(found, "agreement").value == 1.0


def test_another_cut_of_the_same_flat_sides_is_the_same_surface():
    vertices, faces = box()
    middle = vertices[faces[0]].mean(axis=0)
    a, b, c = faces[0]
    finer = np.vstack([faces[1:], [[a, b, 8], [b, c, 8], [c, a, 8]]])

    found = compare(
        mesh(vertices, faces), mesh(np.vstack([vertices, middle]), finer), subject="part"
    )

    assert found.kind == "same surface"


@pytest.mark.parametrize("height_mm", [0.15, -0.15, 0.08])
def test_a_bump_is_told_with_its_height_and_place(raw, processed, height_mm):
    vertices, faces = processed
    at = vertices[len(vertices) // 2]

    found = compare(
        mesh(*raw), mesh(bumped(vertices, faces, at, height_mm), faces), subject="lower"
    )

    largest = value_of(found, "largest")
    assert found.kind == "changed in places"
    assert largest.value == pytest.approx(abs(height_mm), rel=0.15)
    assert np.linalg.norm(np.array(largest.place_mm) - at) < 0.8
    assert largest.details["region"]["kind"] == ("moved out" if height_mm > 0 else "moved in")
    assert value_of(found, "motion").value == 0.0
    top = np.linalg.norm(vertices - at, axis=1).argmin()
    assert found.after_mm[top] == pytest.approx(height_mm, abs=0.02)


def test_a_removed_and_an_added_area_are_told_within_five_percent(raw, processed):
    vertices, faces = processed
    at = vertices[5000]
    is_cut = np.linalg.norm(vertices[faces].mean(axis=1) - at, axis=1) < 3
    cut = mesh(*compacted(vertices, faces[~is_cut]))
    area = face_areas(*raw)[is_cut].sum()

    lost = value_of(compare(mesh(*raw), cut, subject="lower"), "missing_area")
    added = value_of(compare(cut, mesh(*raw), subject="lower"), "invented_area")

    for told in (lost, added):
        assert told.value == pytest.approx(area, rel=0.05)
        assert np.linalg.norm(np.array(told.place_mm) - at) < 1.5
        assert told.details["region_count"] == 1
        # Two corners of faces with their middles in a ball: its diameter and two edges at most.
        assert told.details["largest_span_mm"] == pytest.approx(6.0, abs=0.6)


def test_processing_alone_loses_and_invents_nothing(raw, processed):
    found = compare(mesh(*raw), mesh(*processed), subject="lower")

    assert value_of(found, "missing_area").value == value_of(found, "invented_area").value == 0
    assert value_of(found, "agreement").value > 0.96
    assert value_of(found, "motion").value == 0.0


def test_scatter_is_left_out_and_said(raw, processed):
    speck = sphere(0.4, 12)[0] + raw[0].mean(axis=0), sphere(0.4, 12)[1]
    before = mesh(*joined(raw, speck))

    found = compare(before, mesh(*processed), subject="lower")

    assert value_of(found, "missing_area").value == 0
    left_out = value_of(found, "agreement").details["scatter_left_out"]["before"]
    assert left_out["pieces"] == 1 and left_out["area_mm2"] == pytest.approx(1.9, rel=0.1)
    assert len(found.before_mm) == len(before.vertices)


def test_a_whole_motion_is_told_apart_from_a_local_change(raw, processed):
    vertices, faces = processed
    there = Rigid(rotation(3), np.array([12.0, -30.0, 8.0]))
    at = vertices[len(vertices) // 2]
    moved = there.apply(bumped(vertices, faces, at, 0.15))

    found = compare(mesh(*raw), mesh(moved, faces), subject="lower")

    assert found.kind == "moved"
    motion = value_of(found, "motion")
    np.testing.assert_allclose(motion.details["matrix"], there.matrix, atol=0.01)
    assert motion.value == pytest.approx(
        np.linalg.norm(vertices - there.apply(vertices), axis=1).max(), rel=0.02
    )
    assert value_of(found, "largest").value == pytest.approx(0.15, rel=0.15)


def test_a_small_motion_of_a_scan_is_told_within_its_doubt(raw, processed):
    there = Rigid(np.eye(3), np.array([0.03, 0.02, -0.01]))

    found = compare(mesh(*raw), mesh(there.apply(processed[0]), raw[1]), subject="lower")

    motion = value_of(found, "motion")
    assert found.kind == "moved"
    assert motion.value == pytest.approx(0.0374, abs=0.003)
    assert motion.uncertainty < 0.003


def test_a12_a_mirrored_part_is_told():
    vertices, faces = tetrahedron(10, 7, 4)
    other = mesh(vertices * [-1, 1, 1] + [10, 0, 0], faces[:, ::-1])

    found = compare(mesh(vertices, faces), other, subject="part")

    assert found.kind == "mirrored"
    assert not value_of(found, "motion").is_known
    assert "mirror image" in value_of(found, "agreement").details["sentence"]
    assert value_of(found, "largest").value == 0.0


def test_a_box_told_a_third_of_a_millimetre_taller():
    vertices, faces = box(10, 8, 6)

    found = compare(
        mesh(vertices, faces), mesh(vertices * [1, 1, 1.05], faces), subject="part",
        drops_islands=False,
    )  # fmt: skip

    largest = value_of(found, "largest")
    assert found.kind == "changed in places"
    assert largest.value == pytest.approx(0.3, abs=1e-9)
    assert largest.details["region"]["area_mm2"] == pytest.approx(80, rel=0.15)


def test_a_part_of_a_design_that_is_gone_is_told():
    whole = joined(box(10, 8, 6), box(2, 2, 2, at=(4, 3, 6.5)))

    found = compare(mesh(*whole), mesh(*box(10, 8, 6)), subject="part", drops_islands=False)

    assert value_of(found, "missing_area").value == pytest.approx(24, rel=0.2)


def test_coarse_scans_of_one_jaw_are_compared_although_they_are_cut_finer():
    one, other = (
        lower_arch(4, triangles=count, noise_um=30, noise_seed=count)
        for count in (10_000, 12_000)
    )

    found = compare(
        mesh(one.vertices, one.faces), mesh(other.vertices, other.faces), subject="lower"
    )

    assert found.kind == "changed in places" and value_of(found, "motion").value == 0.0


def test_what_comes_near_a_place_is_told(raw, processed):
    vertices, faces = processed
    at = vertices[len(vertices) // 2]
    far = vertices[np.argmax(np.linalg.norm(vertices - at, axis=1))]

    found = compare(
        mesh(*raw), mesh(bumped(vertices, faces, at, 0.15), faces), subject="lower",
        near={"45": [at + 1.0], "margin 33": [far]},
    )  # fmt: skip

    near, away = (one for one in found.results if one.quantity == "change_near")
    assert near.subject == "lower at 45" and near.value == pytest.approx(0.15, rel=0.15)
    assert near.details["nearest_region_mm"] < 2 and near.details["is_outward"]
    assert away.value < 0.04 and away.details["nearest_region_mm"] > 5


def test_another_body_is_not_compared():
    found = compare(mesh(*box()), mesh(*sphere()), subject="part")

    assert found.kind == "unlike" and found.after_mm is None
    assert "No turn" in value_of(found, "largest").because


@pytest.mark.parametrize("faces", [np.zeros((0, 3)), [[0, 0, 1]]])
def test_a_surface_without_area_is_not_compared(faces):
    nothing = mesh(np.eye(3), faces)

    assert compare(nothing, mesh(*box()), subject="part").kind == "unlike"
    assert compare(mesh(*box()), nothing, subject="part").kind == "unlike"


def test_a_moved_scan_body_is_told_by_its_poses():
    before = Pose.of([10, 20, 30], [0, 0, 1], [1, 0, 0])
    whole = Rigid(rotation(5), np.array([5.0, 6.0, 7.0]))
    lean = Pose.of([10.03, 20.0, 30.04], [np.sin(0.01), 0, np.cos(0.01)], [1, 0, 0])

    shift, turn = scan_body_moved("45", before, lean.moved(whole), whole, 4.0)

    assert shift.value == pytest.approx(50, abs=1e-6) and shift.unit == "µm"
    assert shift.uncertainty == 4.0
    assert turn.value == pytest.approx(np.degrees(0.01), abs=1e-9)
