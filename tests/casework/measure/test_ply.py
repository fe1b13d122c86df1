"""Are PLY files of every make read exactly, or refused with the reason?"""

import tracemalloc

import numpy as np
import pytest

from casework.measure.faults import MeshUnreadable
from casework.measure.integrity import inspect
from casework.measure.reading import read_mesh
from tests import shapes
from tests.casework.measure import inputs
from tests.casework.measure.test_reading import BOX, assert_is_the_box, codes, refused


@pytest.mark.parametrize("order", ["<", ">"])
@pytest.mark.parametrize("coordinate", ["float", "double"])
@pytest.mark.parametrize(
    ("count", "index"),
    [("uchar", "int"), ("uint8", "int32"), ("int", "uint"), ("ushort", "short")],
)
def test_a17_both_byte_orders_and_all_number_types(order, coordinate, count, index):
    data = inputs.ply_binary(*BOX, order=order, coordinate=coordinate, count=count, index=index)
    assert_is_the_box(read_mesh(data, "scan.ply"), "PLY")


def test_a18_unknown_properties_are_passed_over_by_their_size():
    q = np.linspace(0, 1, 8)
    data = inputs.ply_binary(
        *BOX,
        more=[
            ("float", "nx", q),
            ("float", "confidence", q),
            ("uchar", "flag_7", np.arange(8)),
            ("double", "stamp", q),
        ],
        face_more=[("uchar", "flags", np.arange(12))],
    )
    assert_is_the_box(read_mesh(data, "scan.ply"), "PLY")


@pytest.mark.parametrize("order", ["<", ">"])
def test_a18_lists_of_changing_length_are_passed_over(order):
    lists = [list(range(k % 4)) for k in range(12)]
    extra = (
        ["element tag 2", "property list uchar char text", "property short level"],
        b"\x03abc\0\1\x00\0\2",
    )

    data = inputs.ply_binary(
        *BOX,
        order=order,
        elements=[extra],
        more=[(("list", "ushort", "double"), "history", lists[:8])],
        face_more=[(("list", "uchar", "float"), "texcoord", lists), ("int", "part", range(12))],
    )

    assert_is_the_box(read_mesh(data, "scan.ply"), "PLY")


@pytest.mark.parametrize("eol", ["\n", "\r\n", "\r"])
@pytest.mark.parametrize("first", [10.0, 10])  # a first data byte of 10 is a line feed
def test_a19_any_line_end_in_the_header(eol, first):
    vertices, faces = shapes.box()
    if first == 10:
        vertices = vertices.copy()
        vertices[:, 0] += np.frombuffer(bytes((10, 0, 128, 63)), "<f4")[0]

    mesh = read_mesh(inputs.ply_binary(vertices, faces, eol=eol), "scan.ply")

    assert_is_the_box(mesh, "PLY")
    assert (
        mesh.vertices.min(axis=0).tolist() == vertices.astype(np.float32).min(axis=0).tolist()
    )


@pytest.mark.parametrize(("kind", "scale"), [("uchar", 1), ("ushort", 257), ("float", 1 / 255)])
def test_a20_vertex_colours_are_kept(kind, scale):
    channels = [("red", 200), ("green", 180), ("blue", 160), ("alpha", 255)]
    data = inputs.ply_binary(
        *BOX, more=[(kind, name, np.full(8, v * scale)) for name, v in channels]
    )

    mesh = read_mesh(data, "scan.ply")

    assert mesh.colours[0].tolist() == [200, 180, 160] and inspect(mesh).has_colour


def test_face_colours_are_kept_through_the_splitting_of_quads():
    vertices, _ = BOX
    data = inputs.ply_binary(
        vertices,
        inputs.BOX_QUADS,
        face_more=[
            ("uchar", name, np.arange(6) + k) for k, name in enumerate(("red", "green", "blue"))
        ],
    )

    mesh = read_mesh(data, "scan.ply")

    assert mesh.face_colours[:, 0].tolist() == [0, 0, 1, 1, 2, 2, 3, 3, 4, 4, 5, 5]
    assert codes(mesh) == ["polygons_split"]


@pytest.mark.parametrize("has_faces", [True, False])
def test_a21_points_only_are_refused(has_faces):
    data = inputs.ply_binary(BOX[0], [], has_faces=has_faces)
    code, sentence = refused(data, "scan.ply")
    assert code == "points_only" and "8 points" in sentence and "no surface" in sentence


@pytest.mark.parametrize("eol", ["\n", "\r\n", "\r"])
def test_text_ply_is_read(eol):
    data = inputs.ply_text(*BOX, eol=eol, extra_head=["property uchar red"], extra_vertex=" 7")
    assert_is_the_box(read_mesh(data.encode(), "scan.ply"), "PLY")


@pytest.mark.parametrize(
    ("change", "code", "word"),
    [
        (("0 8 6", "0 8,5 6"), "decimal_comma", "line 13"),
        (("0 8 6", "0 8 six"), "bad_number", "six"),
        (("0 8 6", "0 8"), "bad_line", "line 13"),
        (("0 8 6", "0 8 6 7"), "bad_line", "line 13"),
        (("0 8 6", "0 nan 6"), "not_finite", "vertex 4"),
        (("3 0 1 3", "3 0 1 8"), "index_out_of_range", "vertex 8"),
        (("3 0 1 3", "3 0 -1 3"), "index_out_of_range", "face 1 "),
        (("3 0 1 3", "3 0 1"), "bad_line", "face record"),
        (("face 12", "face 13"), "cut_off", "declares 13 face"),
        (("vertex 8", "vertex 4000000000"), "cut_off", "4000000000"),
        (("float z", "float w"), "ply_header", "lack a coordinate"),
        (("float x", "string x"), "ply_header", "line 4"),
        (("ascii", "ebcdic"), "ply_header", "ebcdic"),
        (("end_header", "end"), "ply_header", "end_header"),
        (("format ascii 1.0\n", ""), "ply_header", "format"),
        (("int vertex_indices", "float corners"), "ply_header", "lack the list"),
        (("element vertex 8", "element vertex -8"), "ply_header", "line 3"),
        (("element face", "element tristrips"), "ply_strips", "strips"),
    ],
)
def test_faults_of_a_text_ply_are_named(change, code, word):
    text = inputs.ply_text(*BOX).replace(*change, 1)
    found, sentence = refused(text.encode(), "scan.ply")
    assert found == code and word in sentence


@pytest.mark.parametrize("order", ["<", ">"])
def test_a_binary_ply_cut_anywhere_is_refused(order):
    data = inputs.ply_binary(*BOX, order=order)
    start = data.index(b"end_header") + 11

    for kept in range(start, len(data)):
        assert refused(data[:kept], "scan.ply")[0] == "cut_off"


@pytest.mark.parametrize("element", ["vertex", "face"])
@pytest.mark.parametrize("form", ["binary", "text"])
def test_absurd_counts_are_refused_without_setting_memory_aside(element, form):
    data = inputs.ply_binary(*BOX) if form == "binary" else inputs.ply_text(*BOX).encode()
    old = b"element vertex 8" if element == "vertex" else b"element face 12"
    data = data.replace(old, b"element %s 4000000000" % element.encode())

    tracemalloc.start()
    code, sentence = refused(data, "scan.ply")
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()

    assert code == "cut_off" and "4000000000" in sentence
    assert peak < 8_000_000


def test_a_list_longer_than_the_file_is_refused():
    data = inputs.ply_binary(*BOX, count="uint")
    at = data.index(b"end_header") + 11 + 8 * 12
    code, _ = refused(data[:at] + b"\xff\xff\xff\xff" + data[at + 4 :], "scan.ply")
    assert code == "cut_off"


def test_extra_bytes_after_the_faces_are_named():
    assert codes(read_mesh(inputs.ply_binary(*BOX) + b"more", "scan.ply")) == ["extra_bytes"]


def test_corners_under_another_name_are_taken_with_a_remark():
    mesh = read_mesh(inputs.ply_binary(*BOX, corners="vertex_idx"), "scan.ply")
    assert_is_the_box(mesh, "PLY")
    assert codes(mesh) == ["list_name"]


def test_points_of_no_triangle_do_not_widen_the_box():
    vertices = np.vstack([BOX[0], [[900, 900, 900]]])
    mesh = read_mesh(inputs.ply_binary(vertices, BOX[1]), "scan.ply")
    assert_is_the_box(mesh, "PLY")
    assert codes(mesh) == ["unused_vertices"]


def test_the_refusal_survives_a_journey_between_processes():
    import pickle

    with pytest.raises(MeshUnreadable) as caught:
        read_mesh(b"", "scan.ply")
    again = pickle.loads(pickle.dumps(caught.value))
    assert again.sentence() == caught.value.sentence() and again.code == "empty_file"
