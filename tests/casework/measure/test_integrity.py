"""Does the report count and measure what is there, and give no figure where there is none?"""

import json
import math

import numpy as np
import pytest

from casework.measure.integrity import inspect
from casework.measure.meshes import Mesh
from casework.measure.reading import read_mesh
from tests import shapes
from tests.casework.measure import inputs

BOX_V, BOX_F = shapes.box()


def report(vertices, faces, **options):
    """Inspect a body as a double-precision PLY carries it."""
    data = inputs.ply_binary(vertices, faces, coordinate="double")
    return inspect(read_mesh(data, "body.ply"), **options)


def stl_report(vertices, faces, **options):
    return inspect(read_mesh(inputs.stl_binary(vertices, faces), "scan.stl"), **options)


def codes(found):
    return [one.code for one in found.notes]


# Closed forms (elementary geometry). Inscribed bodies are too small by a known share.


@pytest.mark.parametrize("sides", [16, 64, 256])
def test_round_bodies_are_too_small_by_the_share_of_the_polygon(sides):
    share = shapes.polygon_share(sides)
    cylinder, cone, tube = (
        report(*make(sides=sides)) for make in (shapes.cylinder, shapes.cone, shapes.tube)
    )

    assert cylinder.volume_mm3 == pytest.approx(math.pi * 25 * 6 * share, rel=1e-12)
    assert cone.volume_mm3 == pytest.approx(math.pi * 25 * 6 / 3 * share, rel=1e-12)
    assert tube.volume_mm3 == pytest.approx(math.pi * (25 - 9) * 6 * share, rel=1e-12)
    assert 0 < 1 - share < (2 * math.pi / sides) ** 2 / 6
    chord = 2 * 5 * math.sin(math.pi / sides)
    walls = sides * chord * 6
    assert cylinder.area_mm2 == pytest.approx(2 * math.pi * 25 * share + walls, rel=1e-12)


def test_a_sphere_is_too_small_and_closes_in_with_the_square_of_the_step():
    true_volume, true_area = 4 / 3 * math.pi * 125, 4 * math.pi * 25
    errors = []
    for sides in (32, 64, 128):
        found = report(*shapes.sphere(sides=sides))
        errors.append(true_volume - found.volume_mm3)
        assert 0 < true_area - found.area_mm2 < true_area * (2 * math.pi / sides) ** 2 / 2
    assert all(error > 0 for error in errors)
    assert errors[0] / errors[1] == pytest.approx(4, rel=0.02)
    assert errors[1] / errors[2] == pytest.approx(4, rel=0.02)


@pytest.mark.parametrize(
    "make",
    [
        shapes.box,
        shapes.tetrahedron,
        shapes.cylinder,
        shapes.cone,
        shapes.tube,
        shapes.sphere,
        shapes.torus,
    ],
)
def test_the_report_does_not_change_under_turning_and_shifting(make):
    vertices, faces = make()
    moved = vertices @ shapes.rotation(7).T + [30, -20, 10]
    here, there = report(vertices, faces), report(moved, faces)

    assert here.is_closed and there.is_closed
    assert not here.is_inside_out and not there.is_inside_out
    assert there.volume_mm3 == pytest.approx(here.volume_mm3, rel=1e-9)
    assert there.area_mm2 == pytest.approx(here.area_mm2, rel=1e-9)
    assert there.edge_length_mm == pytest.approx(here.edge_length_mm, rel=1e-9)


def test_a_box_in_full():
    found = stl_report(BOX_V, BOX_F)

    assert (found.area_mm2, found.volume_mm3, found.extents_mm) == (376, 480, (10, 8, 6))
    assert found.bounds_mm == ((0, 0, 0), (10, 8, 6))
    assert found.edge_length_mm.max == pytest.approx(math.hypot(10, 8))
    assert found.edge_length_mm.median == 10  # four of 6, four of 8, then six of 10
    assert found.holes == () and found.island_count == 1 and not found.notes


# Faults


def test_a13_inside_out_is_said_and_the_volume_is_positive():
    found = stl_report(BOX_V, BOX_F[:, ::-1])

    assert found.is_inside_out and found.volume_mm3 == pytest.approx(480)
    assert "inside out" in found.notes[0].sentence()


def test_a13_one_of_two_pieces_inside_out_does_not_cancel_the_other():
    other = shapes.box(at=(20, 0, 0))
    found = stl_report(*shapes.joined((BOX_V, BOX_F[:, ::-1]), other))
    assert found.volume_mm3 == pytest.approx(960) and found.inside_out_islands == 1


@pytest.mark.parametrize("whole_turned", [False, True])
def test_a_cavity_is_subtracted_and_is_not_inside_out(whole_turned):
    inner_v, inner_f = shapes.box(2, 3, 4, at=(1, 1, 1))
    vertices, faces = shapes.joined((BOX_V, BOX_F), (inner_v, inner_f[:, ::-1]))

    found = stl_report(vertices, faces[:, ::-1] if whole_turned else faces)

    assert found.volume_mm3 == pytest.approx(480 - 24)
    assert found.is_inside_out == whole_turned


def test_a14_doubled_triangles_are_said_and_left_out():
    faces = np.vstack([BOX_F, BOX_F[2:3], BOX_F[10:11, [1, 2, 0]]])

    found = stl_report(BOX_V, faces)

    assert found.duplicate_triangles == 2 and found.triangles == 12
    assert found.triangles_in_file == 14
    assert found.area_mm2 == pytest.approx(376) and found.volume_mm3 == pytest.approx(480)
    assert "2 duplicate triangles" in found.notes[0].sentence()


def test_a14_a_surface_stored_twice_the_other_way_round_is_one_surface():
    found = stl_report(BOX_V, np.vstack([BOX_F, BOX_F[:, ::-1]]))
    assert found.duplicate_triangles == 12 and found.volume_mm3 == pytest.approx(480)


def test_a15_a_stray_island_is_counted_and_the_main_piece_measured():
    speck = shapes.tetrahedron(0.4, 0.3, 0.2, at=(40, 0, 0))

    found = stl_report(*shapes.joined(speck, (BOX_V, BOX_F)), kind="segment")

    assert found.island_count == 2
    assert found.islands[0].extents_mm == (10, 8, 6)
    assert [one.triangle_count for one in found.islands] == [12, 4]
    assert found.smallest_island_triangles == 4
    assert found.extents_mm == pytest.approx((40.4, 8, 6), abs=1e-5)
    assert found.unit.largest_extent == 10  # judged by the main piece
    assert "2 separate pieces" in found.notes[0].sentence()


@pytest.mark.parametrize(
    "flat",
    [
        [[0, 0, 1], [2, 2, 2], [0, 4, 4]],
        [[0, 8, 4]],  # three different corners in one line
        [[8, 0, 4], [0, 0, 0]],
    ],
)
def test_a16_triangles_without_area_change_nothing(flat):
    vertices = np.vstack([BOX_V, [[5.0, 0, 0]]])

    found = stl_report(vertices, np.vstack([BOX_F, flat]))

    assert found.degenerate_triangles == len(flat) and found.triangles == 12
    assert found.area_mm2 == pytest.approx(376) and found.volume_mm3 == pytest.approx(480)
    assert "without area" in found.notes[0].sentence()
    assert not any(math.isnan(x) for x in _numbers(found.as_dict()))


def test_a_thin_triangle_that_holds_the_surface_together_stays():
    vertices = np.vstack([BOX_V, [[5.0, 0, 0]]])  # splits the edge 0-4 on one side only
    faces = [f for f in BOX_F.tolist() if f != [0, 4, 5]]
    faces += [[0, 8, 5], [8, 4, 5], [0, 4, 8]]

    found = report(vertices, faces)

    assert found.is_closed and found.degenerate_triangles == 1
    assert found.triangles == 13 and found.volume_mm3 == pytest.approx(480)


def test_only_triangles_without_area_leave_nothing_to_measure():
    found = inspect(Mesh(BOX_V[:3], np.array([[0, 0, 1], [2, 2, 2]], np.int32)))

    assert found.triangles == 0 and found.volume_mm3 is None and found.area_mm2 == 0
    assert "nothing_left" in codes(found)
    json.dumps(found.as_dict(), allow_nan=False)


def test_turned_triangles_are_counted_and_do_not_spoil_the_volume():
    faces = BOX_F.copy()
    faces[[3, 8]] = faces[[3, 8], ::-1]

    found = stl_report(BOX_V, faces)

    assert found.turned_triangles == 2 and not found.is_consistently_wound
    assert found.volume_mm3 == pytest.approx(480) and not found.is_inside_out
    assert "turned_triangles" in codes(found)


def test_a_surface_with_one_side_has_no_volume():
    turns = np.arange(40) * 2 * np.pi / 40
    width = np.array([-1.0, 1.0])[None, :, None]
    middle = np.stack([10 * np.cos(turns), 10 * np.sin(turns), 0 * turns], -1)[:, None, :]
    up = np.stack(
        [
            np.cos(turns / 2) * np.cos(turns),
            np.cos(turns / 2) * np.sin(turns),
            np.sin(turns / 2),
        ],
        -1,
    )[:, None, :]
    vertices = (middle + width * up).reshape(-1, 3)
    faces = []
    for k in range(40):
        a, b = 2 * k, 2 * k + 1
        c, d = (2 * k + 2, 2 * k + 3) if k < 39 else (1, 0)  # the half turn
        faces += [(a, c, b), (b, c, d)]

    found = report(vertices, faces)

    assert not found.is_orientable and found.volume_mm3 is None
    assert found.hole_count == 1 and found.border_edges == 80


@pytest.mark.parametrize("cells", [10, 100])
def test_a40_an_open_sheet_has_no_volume_and_one_rim(cells):
    found = stl_report(*shapes.sheet(cells))

    assert found.triangles == 2 * cells**2
    assert found.extents_mm == pytest.approx((60, 60, 2), abs=0.2)
    assert found.volume_mm3 is None and found.no_volume_because == "the surface is open"
    assert found.is_inside_out is None and not found.is_closed
    assert found.hole_count == 1 and found.holes[0].edge_count == 4 * cells
    assert found.holes[0].span_mm == pytest.approx(math.hypot(60, 60), rel=1e-3)


def test_holes_are_measured_largest_first():
    vertices, faces = shapes.sphere(sides=32)
    cap = vertices[faces][:, :, 2].min(axis=1) >= 4.0  # the top, above z = 4
    one = np.zeros(len(faces), bool)
    one[5] = True  # one triangle at the bottom

    found = report(vertices, faces[~cap & ~one])

    ring, dot = found.holes
    assert ring.edge_count == 32 and dot.edge_count == 3
    assert ring.span_mm == pytest.approx(2 * math.sqrt(25 - ring.centre_mm[2] ** 2), rel=1e-9)
    assert ring.centre_mm[:2] == pytest.approx((0, 0), abs=1e-9)
    assert ring.length_mm > dot.length_mm


def test_boxes_that_share_an_edge_have_an_edge_of_four():
    found = stl_report(*shapes.joined((BOX_V, BOX_F), shapes.box(at=(10, 8, 0))))
    assert found.non_manifold_edges == 1 and not found.is_closed
    assert found.volume_mm3 is None
    assert found.no_volume_because == "edges belong to more than two triangles"


@pytest.mark.parametrize("value", [-0.0, 1e-46])
def test_minus_zero_and_what_float32_rounds_to_zero_are_zero(value):
    vertices = BOX_V.copy()
    corners = vertices[BOX_F]
    corners[::2][corners[::2] == 0] = value
    text = (
        "solid a\n"
        + "".join(
            "facet normal 0 0 0\nouter loop\n"
            + "".join("vertex {!r} {!r} {!r}\n".format(*map(float, p)) for p in t)
            + "endloop\nendfacet\n"
            for t in corners
        )
        + "endsolid\n"
    )

    found = inspect(read_mesh(text.encode(), "scan.stl"))

    assert found.vertices == 8 and found.is_closed


def test_vertices_a_float32_step_apart_are_two():
    vertices = np.vstack([BOX_V, BOX_V[7]]).astype(np.float32)
    vertices[8, 0] = np.nextafter(np.float32(10), np.float32(11))
    faces = BOX_F.copy()
    faces[1:2][faces[1:2] == 3] = 3
    faces[-1][faces[-1] == 7] = 8

    assert stl_report(vertices, faces).vertices == 9


def test_the_report_lists_the_largest_and_counts_all():
    specks = shapes.joined(
        *(shapes.tetrahedron(1 + k, 1, 1, at=(30 * k, 0, 0)) for k in range(7))
    )
    found = report(*specks, listed=3)
    assert found.island_count == 7 and len(found.islands) == 3
    assert [round(one.extents_mm[0]) for one in found.islands] == [7, 6, 5]


def test_the_report_goes_through_json_unchanged():
    vertices, faces = shapes.joined(shapes.sheet(6), (BOX_V, BOX_F))
    plain = report(vertices, faces, kind="full arch").as_dict()
    assert json.loads(json.dumps(plain, allow_nan=False)) == plain
    assert plain["method"] == "integrity 1" and plain["unit"]["is_credible"]
    assert plain["edge_length_mm"].keys() == {"median", "p95", "max"}


def _numbers(thing):
    if isinstance(thing, dict):
        thing = list(thing.values())
    if isinstance(thing, list):
        for one in thing:
            yield from _numbers(one)
    elif isinstance(thing, float):
        yield thing
