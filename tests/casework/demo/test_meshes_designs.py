"""Are the demo's designed parts closed solids that fit the scans and each other?"""

import numpy as np
import pytest
import trimesh

from casework.demo.meshes import (
    ScanBodyForm,
    bridge,
    crown,
    custom_abutment,
    scan_body_mesh,
    upper_arch,
)
from tests.casework.demo.gaps import signed_gaps

GAP = ("45", "46", "47")
DESIGNS = {
    "abutment 45": (lambda: custom_abutment("45", 3, GAP), 1),
    "abutment 47": (lambda: custom_abutment("47", 3, GAP), 1),
    "bridge": (lambda: bridge(GAP, 3), 2),
    "crown 36": (lambda: crown("36", 3), 1),
    "crown 11": (lambda: crown("11", 3), 1),
}


@pytest.fixture(scope="module")
def designs():
    return {name: make() for name, (make, _) in DESIGNS.items()}


def solid(design):
    return trimesh.Trimesh(design.vertices, design.faces, process=False)


@pytest.mark.parametrize("name", DESIGNS)
def test_design_is_one_closed_manifold_wound_outward(designs, name):
    mesh = solid(designs[name])

    edges, uses = np.unique(mesh.edges_sorted, axis=0, return_counts=True)
    assert (uses == 2).all()
    assert mesh.is_winding_consistent
    assert mesh.body_count == 1
    assert mesh.volume > 50


@pytest.mark.parametrize("name", DESIGNS)
def test_each_screw_channel_goes_through(designs, name):
    holes = DESIGNS[name][1]

    # Euler: vertices - edges + faces = 2 - 2 x holes for a closed connected surface.
    assert solid(designs[name]).euler_number == 2 - 2 * holes


@pytest.mark.parametrize("name", DESIGNS)
def test_implant_axis_is_free_of_material(designs, name):
    design = designs[name]

    for implant in design.implants.values():
        away = design.vertices - implant.platform
        up = away @ implant.axis
        radius = np.linalg.norm(away - up[:, None] * implant.axis, axis=1)
        assert radius.min() > 0.7  # the shaft of the screw is 0.75


def test_vertices_stay_apart_in_single_precision(designs):
    stored = designs["bridge"].vertices.astype(np.float32)

    assert len(np.unique(stored, axis=0)) == len(stored)


def test_bridge_sits_over_its_abutments_with_room_for_cement(designs):
    mesh = solid(designs["bridge"])

    for name in ("abutment 45", "abutment 47"):
        abutment = designs[name]
        implant = next(iter(abutment.implants.values()))
        up = (abutment.vertices - implant.platform) @ implant.axis
        posts = abutment.vertices[up > 3.2]
        gaps = signed_gaps(posts, mesh.vertices, mesh.faces)
        assert len(gaps) > 1000
        assert gaps.min() > 0.0
        assert np.percentile(gaps, 20) == pytest.approx(0.05, abs=0.02)


def test_bridge_leaves_room_to_the_opposing_arch(designs):
    opposing = upper_arch(3, triangles=60_000, noise_um=0)
    points = designs["bridge"].vertices
    points = points[points[:, 2] > 4.0]

    gaps = signed_gaps(points, opposing.vertices, opposing.faces)

    assert 0.02 < gaps.min() < 0.2


def test_reference_scan_body_has_the_volume_of_its_form():
    form = ScanBodyForm(bevel_mm=0.0)
    vertices, faces = scan_body_mesh(form, step_mm=0.1)

    mesh = trimesh.Trimesh(vertices, faces, process=False)

    # Cylinder less the segment that the flat takes away (closed form).
    radius, rest = form.diameter_mm / 2, form.diameter_mm / 2 - form.flat_depth_mm
    segment = radius**2 * np.arccos(rest / radius) - rest * np.sqrt(radius**2 - rest**2)
    volume = np.pi * radius**2 * form.height_mm - segment * (form.height_mm - form.flat_from_mm)
    assert mesh.is_watertight
    assert mesh.volume == pytest.approx(volume, rel=0.01)


def test_abutment_without_an_implant_is_refused_by_site():
    with pytest.raises(ValueError, match="46"):
        custom_abutment("46", 3, GAP)
