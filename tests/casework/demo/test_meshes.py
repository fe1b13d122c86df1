"""Are the demo's synthetic scans what they claim to be, and the same for the same seed?"""

import numpy as np
import pytest
import trimesh
from scipy.spatial import cKDTree

from casework.demo.meshes import PARTS, ScanBodyForm, bite_scan, lower_arch, upper_arch
from casework.demo.meshes.teeth import dentition
from tests.casework.demo.gaps import signed_gaps

GAP = ("45", "46", "47")
FORM = ScanBodyForm()
BODIES = {"45": FORM, "47": FORM}


@pytest.fixture(scope="module")
def working():
    return lower_arch(3, GAP, BODIES, triangles=60_000)


@pytest.fixture(scope="module")
def opposing():
    return upper_arch(3, triangles=60_000)


def as_trimesh(scan):
    return trimesh.Trimesh(scan.vertices, scan.faces, process=False)


def body_points(scan, site):
    """Scan-body vertices well above the tissue: height above the platform and radius."""
    implant = scan.implants[site]
    away = scan.vertices[scan.parts == PARTS.index("scan body")] - implant.platform
    up = away @ implant.axis
    radius = np.linalg.norm(away - up[:, None] * implant.axis, axis=1)
    near = (radius < 4.0) & (up > 3.0)
    return up[near], radius[near], away[near] @ implant.flat


@pytest.mark.parametrize("seed", [1, 2, 3])
@pytest.mark.parametrize("make", [lower_arch, upper_arch])
def test_full_arch_is_one_open_consistently_wound_sheet(make, seed):
    scan = make(seed, triangles=20_000)

    mesh = as_trimesh(scan)

    shared = np.bincount(mesh.faces_unique_edges.ravel())
    assert mesh.body_count == 1
    assert mesh.is_winding_consistent
    assert set(shared) == {1, 2}  # open at its edge, nowhere more than two faces an edge
    # Largest side 65 +- 10 mm (derived from two published series of casts), height 22 +- 8 mm
    # (common practice, no source).
    assert 45 < mesh.extents.max() < 90
    assert 10 < mesh.extents[2] < 30


@pytest.mark.parametrize(
    ("fixture", "coronal"), [("working", 1.0), ("opposing", -1.0)], ids=["lower", "upper"]
)
def test_chewing_surfaces_face_the_other_jaw(fixture, coronal, request):
    scan = request.getfixturevalue(fixture)
    mesh = as_trimesh(scan)

    teeth = (scan.parts[scan.faces] == PARTS.index("tooth")).all(axis=1)
    flux = (mesh.face_normals[teeth] * mesh.area_faces[teeth][:, None]).sum(axis=0)

    assert flux[2] * coronal > 0.15 * mesh.area_faces[teeth].sum()


@pytest.mark.parametrize(
    ("make", "molars", "sd"),
    # Facial points of the first molars, mean and standard deviation over 54 casts:
    # Odontology 2017;105:229-236, abstract.
    [(lower_arch, 54.19, 5.31), (upper_arch, 57.92, 4.75)],
    ids=["lower", "upper"],
)
def test_first_molars_stand_as_far_apart_as_on_casts(make, molars, sd):
    jaw = "lower" if make is lower_arch else "upper"
    right, left = ("46", "36") if jaw == "lower" else ("16", "26")
    teeth = dentition(3, jaw)
    scan = make(3, (), triangles=30_000)
    points = scan.vertices[scan.parts == PARTS.index("tooth")]

    near = [
        np.abs(points[:, 1] - teeth[site].point(0, 0, 0)[1]) < 1.5 for site in (right, left)
    ]
    width = points[near[0], 0].max() - points[near[1], 0].min()

    assert abs(width - molars) < 1.5 * sd


@pytest.mark.parametrize("wanted", [20_000, 60_000, 120_000])
def test_triangle_count_comes_near_the_one_asked_for(wanted):
    scan = lower_arch(1, GAP, BODIES, triangles=wanted)

    assert abs(len(scan.faces) / wanted - 1) < 0.15


def test_edges_near_scan_bodies_are_fine(working):
    lengths = as_trimesh(working).edges_unique_length
    middle = working.vertices[as_trimesh(working).edges_unique].mean(axis=1)

    for implant in working.implants.values():
        near = np.linalg.norm(middle - implant.platform - 4 * implant.axis, axis=1) < 5
        assert 0.18 < lengths[near].mean() < 0.34


def test_a_scan_that_is_fine_at_implants_is_whole_and_lies_on_the_same_surface(working):
    fine = lower_arch(3, GAP, BODIES, triangles=20_000, noise_um=0, is_fine_at_implants=True)
    smooth = lower_arch(3, GAP, BODIES, triangles=60_000, noise_um=0)

    mesh = as_trimesh(fine)
    assert mesh.body_count == 1 and mesh.is_winding_consistent
    for implant in fine.implants.values():
        local = implant.local(mesh.vertices[mesh.edges_unique].mean(axis=1))
        near = np.hypot(local[:, 0], local[:, 1]) < 5.0
        assert np.median(mesh.edges_unique_length[near]) < 0.25
    near = fine.vertices[fine.parts == PARTS.index("scan body")][::40]
    away = trimesh.proximity.closest_point(as_trimesh(smooth), near)[1]
    assert np.median(away) < 0.02


@pytest.mark.parametrize("site", ["45", "47"])
def test_scan_body_has_its_diameter_height_and_flat_about_the_known_axis(working, site):
    up, radius, toward_flat = body_points(working, site)

    side = (up > 1.0) & (up < FORM.height_mm - 0.9) & (toward_flat < 1.0)
    flat = (up > FORM.flat_from_mm + 0.6) & (up < FORM.height_mm - 0.9) & (toward_flat > 1.2)
    flat &= radius**2 - toward_flat**2 < 1.3**2  # of 3.26 mm, not beside its edges
    top = (up > FORM.height_mm - 0.15) & (radius < 1.2)
    assert np.median(radius[side]) == pytest.approx(FORM.diameter_mm / 2, abs=0.005)
    assert np.std(radius[side]) < 0.03  # the noise is 0.015
    assert np.median(toward_flat[flat]) == pytest.approx(
        FORM.diameter_mm / 2 - FORM.flat_depth_mm, abs=0.01
    )
    assert np.median(up[top]) == pytest.approx(FORM.height_mm, abs=0.005)


def test_platforms_lie_apart_like_the_teeth_and_axes_diverge_a_little(working):
    one, two = working.implants["45"], working.implants["47"]

    distance = np.linalg.norm(one.platform - two.platform)
    divergence = np.degrees(np.arccos(one.axis @ two.axis))

    # Half of 45, all of 46 and half of 47: 3.5 + 11 + 5.25 mm (textbook sizes, from memory).
    assert distance == pytest.approx(19.75, abs=2.0)
    assert 2 < divergence < 15
    assert np.linalg.norm(one.axis) == pytest.approx(1.0)


def test_scan_without_bodies_shows_the_platform_at_the_bottom_of_a_funnel(working):
    tissue = lower_arch(3, GAP, triangles=60_000, noise_seed=9)

    for site, implant in working.implants.items():
        away = tissue.vertices - implant.platform
        up = away @ implant.axis
        radius = np.linalg.norm(away - up[:, None] * implant.axis, axis=1)
        ring = (radius > 1.5) & (radius < 1.9) & (np.abs(up) < 1)
        assert np.median(up[ring]) == pytest.approx(0.0, abs=0.06)
        assert not (tissue.parts == PARTS.index("scan body")).any()
        assert np.allclose(implant.platform, tissue.implants[site].platform)


def test_scans_with_and_without_bodies_agree_on_the_neighbours(working):
    tissue = lower_arch(3, GAP, triangles=60_000, noise_seed=9)

    # The left half bears no implant: points of one scan lie on the planes of the other.
    left = working.vertices[:, 0] < -5
    tree = cKDTree(tissue.vertices)
    _, near = tree.query(working.vertices[left])
    normals = as_trimesh(tissue).vertex_normals[near]
    off = np.einsum("ij,ij->i", working.vertices[left] - tissue.vertices[near], normals)

    assert np.median(np.abs(off)) < 0.04


@pytest.mark.parametrize("seed", [1, 3])
def test_jaws_bite_closely_without_overlap(seed):
    lower = lower_arch(seed, (), triangles=60_000, noise_um=0)
    upper = upper_arch(seed, triangles=60_000, noise_um=0)

    near = cKDTree(lower.vertices).query(upper.vertices)[0] < 1.0
    gaps = signed_gaps(upper.vertices[near], lower.vertices, lower.faces)

    # 0.1 mm is kept between the shapes, less what flat triangles and rounded fields take.
    assert 0.0 < gaps.min() < 0.2
    assert (gaps < 0.3).sum() > 50


def test_noise_is_as_large_as_said():
    quiet = lower_arch(1, GAP, BODIES, triangles=20_000, noise_um=0)
    noisy = lower_arch(1, GAP, BODIES, triangles=20_000, noise_um=20)

    moved = np.linalg.norm(noisy.vertices - quiet.vertices, axis=1)

    assert np.sqrt(np.mean(moved**2)) == pytest.approx(0.020, rel=0.05)


def test_same_seed_same_scan_and_another_seed_another_patient():
    one = lower_arch(1, GAP, BODIES, triangles=8_000)
    again = lower_arch(1, GAP, BODIES, triangles=8_000)
    rescan = lower_arch(1, GAP, BODIES, triangles=8_000, noise_seed=1)
    other = lower_arch(2, GAP, BODIES, triangles=8_000)

    assert np.array_equal(one.vertices, again.vertices)
    assert np.array_equal(one.colours, again.colours)
    assert np.array_equal(one.implants["45"].platform, rescan.implants["45"].platform)
    assert one.vertices.shape != rescan.vertices.shape
    assert not np.allclose(one.implants["45"].platform, other.implants["45"].platform)


def test_bite_scan_shows_the_cheek_side_of_both_jaws_on_the_right():
    scan = bite_scan(3, GAP, triangles=16_000)

    mesh = as_trimesh(scan)
    teeth = scan.vertices[scan.parts == PARTS.index("tooth")]
    assert mesh.is_winding_consistent
    assert scan.vertices[:, 0].min() > 0
    assert teeth[:, 2].min() < 3 and teeth[:, 2].max() > 12


def test_prepared_tooth_is_smaller_than_the_natural_one():
    natural = lower_arch(1, (), span=("35", "37"), triangles=15_000)
    ground = lower_arch(1, (), prepared=("36",), span=("35", "37"), triangles=15_000)

    assert as_trimesh(natural).area > as_trimesh(ground).area + 40


@pytest.mark.parametrize("site", ["15", "48", "99"])
def test_site_of_another_jaw_is_refused_by_name(site):
    with pytest.raises(ValueError, match=site):
        lower_arch(1, (site,))
