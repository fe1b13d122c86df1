"""Is a scan judged apart where it matters: edges, holes, noise and cover of a region?"""

import numpy as np
import pytest

from casework.measure.meshes import Mesh
from casework.measure.regions import Region, judge_regions
from casework.measure.surfaces.normals import vertex_normals
from tests.shapes import cylinder, joined, sheet


def values_of(results, subject):
    return {one.quantity: one for one in results if one.subject == subject}


def sheets(fine_um=10, coarse_um=30):
    """A fine sheet (edges 0.2 and 0.28 mm) beside a coarse one (0.3 and 0.42), each noisy."""
    parts = []
    for cells, size, noise, away in ((100, 20.0, fine_um, 0.0), (100, 30.0, coarse_um, 40.0)):
        vertices, faces = sheet(cells, size)
        amount = np.random.default_rng(0).normal(0, noise / 1000, len(vertices))
        moved = vertices + vertex_normals(vertices, faces) * amount[:, None]
        parts.append((moved + [away, 0, 0], faces))
    vertices, faces = joined(*parts)
    return Mesh(vertices, faces.astype(np.int32))


def test_edges_and_noise_are_those_of_the_region():
    scan = sheets()
    here, there = Region("45", [[10, 10, 0]], 6.0), Region("37", [[55, 15, 0]], 6.0)

    results = judge_regions(scan, [here, there], subject="scan")

    fine, coarse = (values_of(results, f"scan at {site}") for site in ("45", "37"))
    assert fine["region_noise"].value == pytest.approx(10, rel=0.15)
    assert coarse["region_noise"].value == pytest.approx(30, rel=0.15)
    assert fine["region_edge"].value < coarse["region_edge"].value < 0.5
    assert fine["region_edge"].details["p95_mm"] > fine["region_edge"].value
    elsewhere = values_of(results, "scan elsewhere")
    assert set(elsewhere) == {"region_edge", "region_hole_count", "region_noise"}


def test_a_hole_counts_only_where_it_is():
    scan = sheets(0.001, 0.001)
    middles = scan.vertices[scan.faces].mean(axis=1)
    gone = np.linalg.norm(middles[:, :2] - [10, 10], axis=1) < 1.0
    scan = Mesh(scan.vertices, scan.faces[~gone])
    regions = [Region("45", [[10, 10, 0]], 3.0), Region("37", [[55, 15, 0]], 3.0)]

    results = judge_regions(scan, regions, subject="scan")

    holed, whole = (
        values_of(results, f"scan at {site}")["region_hole_count"] for site in ("45", "37")
    )
    assert holed.value == 1 and whole.value == 0
    assert holed.details["holes"][0]["span_mm"] == pytest.approx(2.0, abs=0.6)


def test_a_line_over_a_hole_is_covered_by_the_rest():
    vertices, faces = sheet(cells=200, size=40.0)
    middles = vertices[faces].mean(axis=1)
    kept = np.linalg.norm(middles[:, :2] - [20, 20], axis=1) > 2.0
    scan = Mesh(vertices, faces[kept].astype(np.int32))
    x = np.linspace(10, 30, 201)
    line = np.column_stack([x, np.full(201, 20.0), np.sin(x) * np.cos(20.0)])

    results = judge_regions(scan, [Region("margin 44", line, 1.0, "line")], subject="scan")

    covered = values_of(results, "scan at margin 44")["region_covered"]
    assert covered.value == pytest.approx(16 / 20, abs=0.03)
    np.testing.assert_allclose(covered.place_mm[:2], [20, 20], atol=0.3)


def test_half_a_scan_body_is_covered_by_half():
    vertices, faces = cylinder(2.25, 8.0, 96)
    fine = vertices[faces]
    for _ in range(4):  # four times the triangles each, so that each cell may hold one
        a, b, c = fine[:, 0], fine[:, 1], fine[:, 2]
        ab, bc, ca = (a + b) / 2, (b + c) / 2, (c + a) / 2
        fine = np.concatenate(
            [
                np.stack(one, axis=1)
                for one in ((a, ab, ca), (ab, b, bc), (ca, bc, c), (ab, bc, ca))
            ]
        )
    seen = fine[(fine.mean(axis=1)[:, 1] > 0) & (fine.mean(axis=1)[:, 2] % 8 > 1e-6)]
    scan = Mesh(seen.reshape(-1, 3), np.arange(3 * len(seen), dtype=np.int32).reshape(-1, 3))
    body = Region("45", [[0, 0, 0], [0, 0, 8]], 3.0, "axis")

    covered = values_of(judge_regions(scan, [body], subject="scan"), "scan at 45")

    assert covered["region_covered"].value == pytest.approx(0.5, abs=0.05)
    assert len(covered["region_covered"].details["share_by_height"]) == 16


def test_a_region_beside_the_scan_is_not_known():
    results = judge_regions(sheets(), [Region("11", [[0, 0, 90]], 3.0)], subject="scan")

    told = values_of(results, "scan at 11")
    assert not told["region_edge"].is_known and "nothing there" in told["region_edge"].because
    assert not told["region_noise"].is_known
    assert told["region_covered"].value == 0


def test_no_regions_give_no_values():
    assert judge_regions(sheets(), [], subject="scan") == []
