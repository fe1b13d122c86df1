"""Is every file read as what it is, exactly, or refused with the reason?"""

import struct

import numpy as np
import pytest

from casework.measure.faults import REFUSALS, REMARKS, MeshUnreadable
from casework.measure.integrity import inspect
from casework.measure.reading import read_mesh
from tests import shapes
from tests.casework.measure import inputs

BOX = shapes.box()
PNG = b"\x89PNG\r\n\x1a\n" + bytes(60)


def refused(data, name="scan.stl"):
    with pytest.raises(MeshUnreadable) as caught:
        read_mesh(data, name)
    sentence = caught.value.sentence()
    assert sentence.startswith(name) and sentence == str(caught.value)
    return caught.value.code, sentence


def codes(mesh):
    return [one.code for one in mesh.notes]


def assert_is_the_box(mesh, kind, x=10, y=8, z=6):
    found = inspect(mesh)
    assert mesh.format == kind
    assert len(mesh.faces) == 12 and len(mesh.vertices) == 8
    assert found.extents_mm == pytest.approx((x, y, z), abs=1e-6)
    assert found.volume_mm3 == pytest.approx(x * y * z, rel=1e-6)


@pytest.mark.parametrize(
    "number", ["{!r}", "{:.17g}", "{:.25e}", "{:+.3e}", "{:012.6f}", "{:.20f}"]
)
@pytest.mark.parametrize("kind", ["stl", "ply", "obj"])
def test_numerals_are_read_as_python_reads_them(number, kind):
    rng = np.random.default_rng(5)
    vertices = rng.normal(size=(9, 3)) * 10.0 ** rng.integers(-30, 30, (9, 3))
    faces = np.arange(9).reshape(3, 3)
    write = {
        "stl": lambda: (
            "solid a\n"
            + "".join(
                "facet normal 0 0 1\nouter loop\n"
                + "".join(
                    "vertex " + " ".join(number.format(float(x)) for x in vertices[k]) + "\n"
                    for k in face
                )
                + "endloop\nendfacet\n"
                for face in faces
            )
            + "endsolid\n"
        ),
        "ply": lambda: inputs.ply_text(vertices.tolist(), faces, number=number).replace(
            "property float", "property double"
        ),
        "obj": lambda: inputs.obj_text(vertices.tolist(), faces, number=number),
    }[kind]

    mesh = read_mesh(write().encode(), "numbers")

    wanted = [[float(number.format(float(x))) for x in row] for row in vertices]
    assert mesh.triangles_mm.reshape(-1, 3).tolist() == wanted


# Other formats, names, sizes


@pytest.mark.parametrize(
    ("beginning", "word"),
    [
        (PNG, "PNG"),
        (b"\xff\xd8\xff\xe0" + bytes(200), "JPEG"),
        (b"GIF89a" + bytes(99), "GIF"),
        (b"%PDF-1.7\n" + bytes(99), "PDF"),
        (b"PK\3\4" + bytes(99), "ZIP"),
        (b"PK\3\4" + bytes(30) + b"3D/3dmodel.model", "3MF"),
        (b"\0\0\0\x18ftypheic" + bytes(99), "HEIC"),
        (b"\0\0\0\x18ftypavif" + bytes(99), "AVIF"),
        (b"\0\0\0\x18ftypmp42" + bytes(99), "MP4"),
        (b"RIFF\0\0\0\0WEBPVP8 ", "WebP"),
        (b"II*\0" + bytes(99), "TIFF"),
        (bytes(128) + b"DICM" + bytes(99), "DICOM"),
        (b"<?xml version='1.0'?>\n<svg xmlns='x'>", "SVG"),
        (b"<svg xmlns='x'>", "SVG"),
        (b"<!DOCTYPE html><html>", "HTML"),
        (b"\x1f\x8b\x08" + bytes(30), "gzip"),
        (b"Rar!\x1a\x07\0", "RAR"),
        (b"7z\xbc\xaf\x27\x1c" + bytes(30), "7z"),
        (b"ISO-10303-21;\nHEADER;", "STEP"),
        (b"OFF\n8 6 0\n0 0 0", "OFF"),
        (b"BM" + struct.pack("<I", 60) + bytes(54), "BMP"),
        (b"MZ" + bytes(99), "program"),
        (b'{"asset": {"version": "2.0"}}', "glTF"),
    ],
)
@pytest.mark.parametrize("name", ["picture.stl", "picture.ply", "picture.obj"])
def test_a33_another_kind_of_file_is_named(beginning, word, name):
    code, sentence = refused(beginning, name)
    assert code == "foreign_format" and word in sentence and "STL, PLY or OBJ" in sentence


@pytest.mark.parametrize(
    ("data", "name", "kind"),
    [
        (inputs.ply_binary(*BOX), "really_ply.stl", "PLY"),
        (inputs.stl_binary(*BOX), "really_stl.ply", "binary STL"),
        (inputs.stl_text(*BOX).encode(), "really_stl.obj", "text STL"),
        (inputs.obj_text(*BOX).encode(), "really_obj.STL", "OBJ"),
    ],
)
def test_a33_a_mesh_under_another_extension_is_read_with_a_remark(data, name, kind):
    mesh = read_mesh(data, name)

    assert_is_the_box(mesh, kind)
    assert codes(mesh) == ["extension_disagrees"]
    assert kind.split()[-1] in mesh.notes[0].sentence()


def test_a34_glb_is_refused_with_the_formats_that_are_read():
    vertices, faces = BOX
    code, sentence = refused(inputs.glb(vertices / 1000, faces), "scan.glb")
    assert code == "foreign_format" and "GLB" in sentence and "STL, PLY or OBJ" in sentence


def test_a35_an_empty_file_is_refused(tmp_path):
    path = tmp_path / "scan.stl"
    path.write_bytes(b"")

    code, sentence = refused(b"")
    assert code == "empty_file" and "empty (0 bytes)" in sentence
    with pytest.raises(MeshUnreadable, match="scan.stl is empty"):
        read_mesh(path)


@pytest.mark.parametrize("name", ["scan.stl", "scan.ply", "scan.obj", "scan"])
def test_noise_is_refused_as_unknown(name):
    noise = np.random.default_rng(3).integers(0, 256, 5000, np.uint8).tobytes()
    assert refused(noise, name)[0] == "unknown_binary"
    assert (
        refused(b"Dear colleague,\nplease find the scan attached.\n", name)[0] == "unknown_text"
    )


def test_a_path_is_read_like_its_bytes(tmp_path):
    path = tmp_path / "a scan.stl"
    path.write_bytes(inputs.stl_binary(*BOX))

    from_path, from_view = (
        read_mesh(path),
        read_mesh(memoryview(path.read_bytes()), "a scan.stl"),
    )

    assert_is_the_box(from_path, "binary STL")
    assert (from_path.triangles_mm == from_view.triangles_mm).all()


@pytest.mark.parametrize("factor", [1000.0, 25.4, 0.001])
def test_a11_a43_a_unit_factor_gives_millimetres(factor):
    vertices, faces = shapes.box(60 / factor, 45 / factor, 15 / factor)
    mesh = read_mesh(inputs.stl_binary(vertices, faces), "scan.stl", unit_factor=factor)
    assert inspect(mesh).extents_mm == pytest.approx((60, 45, 15), rel=1e-6)


@pytest.mark.parametrize("factor", [0, -1, float("nan"), float("inf")])
def test_a_unit_factor_must_be_positive(factor):
    with pytest.raises(ValueError, match="unit_factor"):
        read_mesh(inputs.stl_binary(*BOX), "scan.stl", unit_factor=factor)


def test_sentences_are_whole_for_every_code():
    assert all(text.endswith(".") for text in (*REFUSALS.values(), *REMARKS.values()))
    assert all("{name}" in text for text in REFUSALS.values())


def test_a37_two_byte_text_that_is_none_is_refused():
    code, sentence = refused(b"\xff\xfe" + b"\x00\xd8" * 20)
    assert code == "encoding" and "UTF-16" in sentence


@pytest.mark.parametrize("count", [1, 3000])
def test_a_file_whose_triangles_all_lie_in_lines_holds_no_surface(count):
    points = "".join(f"v {k} 0 0\n" for k in range(count + 2))
    faces = "".join(f"f {k} {k + 1} {k + 2}\n" for k in range(1, count + 1))

    code, sentence = refused((points + faces).encode(), "line.obj")

    assert code == "no_area" and f"{count} triangles" in sentence
    corner = f"v 0 1 0\nf 1 2 {count + 3}\n"
    assert len(read_mesh((points + faces + corner).encode(), "line.obj").faces) == count + 1
