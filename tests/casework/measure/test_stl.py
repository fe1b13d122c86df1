"""Are STL files of every make, binary and text, read exactly or refused with the reason?"""

import struct

import numpy as np
import pytest

from casework.measure.integrity import inspect
from casework.measure.reading import read_mesh
from tests import shapes
from tests.casework.measure import inputs
from tests.casework.measure.test_reading import BOX, assert_is_the_box, codes, refused

# Binary STL


@pytest.mark.parametrize(
    "header",
    [
        b"solid exported part",
        b"solid",
        b"SOLID facet normal",
        b"\xef\xbb\xbfsolid",
        b"PK\3\4",
        b"OFF ",
        b"v 1 2 3\nf 1",
    ],
)
def test_a01_binary_stl_is_known_by_its_length_not_its_header(header):
    assert_is_the_box(
        read_mesh(inputs.stl_binary(*BOX, header=header), "scan.stl"), "binary STL"
    )


def test_a06_cut_off_stl_is_refused_with_both_counts():
    whole = inputs.stl_binary(*BOX)

    code, sentence = refused(whole[: 84 + 7 * 50 + 20])

    assert code == "cut_off"
    assert "cut off" in sentence and "12" in sentence and "7" in sentence


@pytest.mark.parametrize("kept", [40, 83, 84, 84 + 49, 84 + 50, 84 + 599])
@pytest.mark.parametrize("header", [b"test body", b"solid exported part"])
def test_a06_an_stl_cut_anywhere_is_refused(kept, header):
    code, _ = refused(inputs.stl_binary(*BOX, header=header)[:kept])
    assert code in ("cut_off", "cut_off_text", "unknown_text")


@pytest.mark.parametrize("extra", [b"\0" * 512, b"\0", b"note: anything" * 9, bytes(range(50))])
def test_a07_extra_bytes_at_the_end_are_named(extra):
    mesh = read_mesh(inputs.stl_binary(*BOX) + extra, "scan.stl")

    assert_is_the_box(mesh, "binary STL")
    assert f"{len(extra)} extra bytes" in mesh.notes[0].sentence()


def test_a08_no_triangles_is_refused():
    code, sentence = refused(inputs.stl_binary(np.zeros((0, 3)), np.zeros((0, 3), int)))
    assert code == "no_triangles" and "no triangles" in sentence


def test_a08_a_count_of_zero_before_triangles_is_refused():
    code, sentence = refused(inputs.stl_binary(*BOX, count=0))
    assert code == "count_is_zero" and "600 bytes" in sentence


@pytest.mark.parametrize("value", [float("nan"), float("inf"), float("-inf")])
def test_a09_a_coordinate_that_is_no_number_is_refused(value):
    data = bytearray(inputs.stl_binary(*BOX))
    struct.pack_into("<f", data, 84 + 5 * 50 + 12 + 4, value)

    code, sentence = refused(bytes(data))

    assert code == "not_finite"
    assert "not a number" in sentence and "1 in all" in sentence and "triangle 6" in sentence


def test_a10_attribute_bytes_are_colours_not_lengths():
    attributes = np.full(12, 0x8000 | (20 << 10) | (18 << 5) | 16)
    attributes[0] = 0x8000 | (31 << 10)

    mesh = read_mesh(inputs.stl_binary(*BOX, attributes=attributes), "scan.stl")

    assert_is_the_box(mesh, "binary STL")
    assert mesh.face_colours[0].tolist() == [255, 0, 0]
    assert mesh.face_colours[1].tolist() == [165, 148, 132]
    assert inspect(mesh).has_colour


def test_a10_a_colour_in_the_header_turns_the_meaning_round():
    attributes = np.full(12, 31)  # red in the low bits, bit 15 clear: a colour of its own
    attributes[1] = 0x8000
    header = b"COLOR=" + bytes((10, 20, 30, 255)) + b" part"

    mesh = read_mesh(inputs.stl_binary(*BOX, header=header, attributes=attributes), "scan.stl")

    assert mesh.face_colours[:2].tolist() == [[255, 0, 0], [10, 20, 30]]


def test_attribute_bytes_without_the_colour_bit_are_left_alone():
    mesh = read_mesh(inputs.stl_binary(*BOX, attributes=np.full(12, 7)), "scan.stl")
    assert mesh.face_colours is None and codes(mesh) == ["attribute_bytes"]


def test_an_stl_in_reversed_byte_order_is_read_with_a_remark():
    mesh = read_mesh(inputs.stl_binary(*BOX, order=">"), "scan.stl")
    assert_is_the_box(mesh, "binary STL")
    assert codes(mesh) == ["byte_order_reversed"]


# Text STL


@pytest.mark.parametrize("name", ["上顎 Übergang", "", "facet", "solid endsolid", "a,b 1,5"])
def test_a02_any_solid_name_is_taken(name):
    assert_is_the_box(
        read_mesh(inputs.stl_text(*BOX, name=name).encode(), "scan.stl"), "text STL"
    )


def test_a02_a_solid_name_in_latin_1_is_taken():
    data = inputs.stl_text(*BOX, name="Brücke").encode("latin-1")
    assert_is_the_box(read_mesh(data, "scan.stl"), "text STL")


@pytest.mark.parametrize("eol", ["\n", "\r\n", "\r"])
def test_a03_tabs_capitals_blank_lines_and_no_last_newline(eol):
    text = inputs.stl_text(*BOX, name="", number="{:g}", gap="\t  ", eol=eol, indent="\t")
    text = text.replace("facet normal", "FACET  NORMAL").replace("vertex", "Vertex")
    text = text.replace("endloop" + eol, "ENDLOOP " + eol * 2).rstrip()

    assert_is_the_box(read_mesh(text.encode(), "scan.stl"), "text STL")


def test_a04_decimal_commas_are_named_with_their_first_line():
    text = inputs.stl_text(*shapes.box(10.5, 8.25, 6.75)).replace(".", ",")

    code, sentence = refused(text.encode())

    assert code == "decimal_comma" and "comma" in sentence and "line 2" in sentence


def test_a04_a_single_comma_far_down_is_found():
    text = inputs.stl_text(*BOX).replace("vertex 1.000000e+01", "vertex 1,000000e+01", 1)
    line = text[: text.index("1,0")].count("\n") + 1

    code, sentence = refused(text.encode())

    assert code == "decimal_comma" and f"line {line} " in sentence


def test_a05_two_solids_are_both_read():
    one, other = inputs.stl_text(*BOX, name="one"), inputs.stl_text(*shapes.box(at=(20, 0, 0)))

    mesh = read_mesh((one + other).encode(), "scan.stl")

    found = inspect(mesh)
    assert found.triangles == 24 and found.island_count == 2
    assert found.extents_mm == (30, 8, 6) and found.volume_mm3 == pytest.approx(960)
    assert codes(mesh) == ["several_solids"]


@pytest.mark.parametrize("word", ["end loop", "END LOOP", "end\tloop", "end\n loop"])
def test_a41_end_loop_in_two_words(word):
    text = inputs.stl_text(*BOX, number="{:.3f}", indent="").replace("endloop", word)
    text = text.replace("endfacet", "end facet").replace("endsolid", "end solid")
    assert_is_the_box(read_mesh(text.encode(), "scan.stl"), "text STL")


@pytest.mark.parametrize(
    "text", ["solid Empty\nendsolid Empty", "solid\nendsolid", "solid a b\nendsolid a b\n"]
)
def test_a42_a_text_without_a_facet_is_refused(text):
    code, sentence = refused(text.encode())
    assert code == "no_triangles" and "no triangles" in sentence


def test_a37_utf_8_with_a_byte_order_mark():
    mesh = read_mesh(b"\xef\xbb\xbf" + inputs.stl_text(*BOX).encode(), "scan.stl")
    assert_is_the_box(mesh, "text STL")
    assert codes(mesh) == ["encoding"]


@pytest.mark.parametrize("encoding", ["utf-16", "utf-16-le", "utf-16-be", "utf-32"])
@pytest.mark.parametrize("kind", ["text STL", "PLY", "OBJ"])
def test_a37_two_byte_text_is_read(encoding, kind):
    text = {
        "text STL": inputs.stl_text(*BOX),
        "PLY": inputs.ply_text(*BOX),
        "OBJ": inputs.obj_text(*BOX),
    }[kind]

    mesh = read_mesh(text.encode(encoding), "scan")

    assert_is_the_box(mesh, kind)
    assert "UTF-" in mesh.notes[0].sentence()


def test_text_stl_cut_anywhere_is_never_shorter_in_silence():
    text = inputs.stl_text(*BOX).encode()
    last = text.rindex(b"endsolid")

    for kept in range(1, last + len(b"endsoli")):
        code, sentence = refused(text[:kept])
        assert code in ("cut_off_text", "unknown_text", "cut_off"), (kept, sentence)


@pytest.mark.parametrize(
    ("old", "new", "code", "word"),
    [
        ("endloop", "vertex 0 0 0\nendloop", "facet_corners", "line 7"),
        (
            "outer loop\n      vertex",
            "outer loop\n endloop\n vertex",
            "facet_corners",
            "line 4",
        ),
        ("outer loop", "inner loop", "bad_line", "line 3"),
        ("vertex 0.000000e+00", "vertex x12", "bad_number", "“x12"),
        ("vertex 0.000000e+00", "vertex nan", "not_finite", "triangle 1"),
        ("vertex 0.000000e+00", "vertex -1.#IND", "not_finite", "1 in all"),
        ("endfacet", "endfacet\nhello there", "bad_line", "hello there"),
    ],
)
def test_faults_inside_a_text_stl_are_named(old, new, code, word):
    found, sentence = refused(inputs.stl_text(*BOX).replace(old, new, 1).encode())
    assert found == code and word in sentence


def test_facets_without_a_solid_line_are_read_with_a_remark():
    text = "\n".join(inputs.stl_text(*BOX).split("\n")[1:-2])
    mesh = read_mesh(text.encode(), "scan.stl")
    assert_is_the_box(mesh, "text STL")
    assert codes(mesh) == ["no_solid_line"]
