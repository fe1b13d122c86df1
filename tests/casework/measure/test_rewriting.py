"""Do names stay behind, and is the geometry the same, when a file leaves the house?"""

import numpy as np
import pytest

from casework.measure.faults import MeshUnreadable
from casework.measure.meshes import geometry_digest
from casework.measure.reading import read_mesh
from casework.measure.rewriting import without_names
from tests import shapes
from tests.casework.measure import inputs

BOX = shapes.box()
WHO = "Testperson Alpha 1970-01-01"
LETTERS = [list(WHO.encode())[: 5 + k] for k in range(12)]
CARRIERS = {
    "STL header": inputs.stl_binary(*BOX, header=WHO.encode()),
    "STL header that starts with solid": inputs.stl_binary(
        *BOX, header=b"solid " + WHO.encode()
    ),
    "STL colour header": inputs.stl_binary(
        *BOX, header=WHO.encode() + b" COLOR=\1\2\3\4", attributes=np.arange(12)
    ),
    "bytes after an STL": inputs.stl_binary(*BOX) + WHO.encode(),
    "reversed STL": inputs.stl_binary(*BOX, header=WHO.encode(), order=">"),
    "solid name": inputs.stl_text(*BOX, name=WHO).encode(),
    "two solids": (
        inputs.stl_text(*BOX, name=WHO)
        + inputs.stl_text(*shapes.box(at=(20, 0, 0)), name="solid " + WHO)
    ).encode(),
    "end solid on the facet's line": inputs.stl_text(*BOX, name=WHO, eol="\r\n")
    .replace("endfacet\r\nendsolid", "endfacet end solid")
    .encode(),
    "text STL in two bytes": inputs.stl_text(*BOX, name=WHO).encode("utf-16"),
    "PLY comment": inputs.ply_binary(*BOX, comments=[f"patient {WHO}"]),
    "PLY comment, CR LF": inputs.ply_binary(*BOX, comments=[WHO], eol="\r\n"),
    "PLY obj_info": inputs.ply_binary(*BOX, order=">").replace(
        b"element vertex", f"obj_info {WHO}\nelement vertex".encode()
    ),
    "PLY element": inputs.ply_binary(
        *BOX,
        elements=[
            (
                ["element Testperson 1", "property list uchar char name"],
                bytes([len(WHO)]) + WHO.encode(),
            )
        ],
    ),
    "PLY property": inputs.ply_binary(*BOX, more=[("float", "Testperson", np.zeros(8))]),
    "PLY corner list": inputs.ply_binary(*BOX, corners="Testperson"),
    "PLY list of letters": inputs.ply_binary(
        *BOX, order=">", face_more=[(("list", "ushort", "uchar"), "tag", LETTERS)]
    ),
    "bytes after a PLY": inputs.ply_binary(*BOX) + WHO.encode(),
    "text PLY": inputs.ply_text(*BOX, extra_head=[f"comment {WHO}"]).encode(),
    "OBJ comment": inputs.obj_text(*BOX, head=f"# {WHO}\n").encode(),
    "OBJ comment behind a face": inputs.obj_text(*BOX)
    .replace("f 1 2 4\n", f"f 1 2 4  # {WHO}\n")
    .encode(),
    "OBJ names": inputs.obj_text(
        *BOX,
        eol="\r\n",
        head=(f"mtllib {WHO}.mtl\r\no {WHO}\r\ng {WHO} b\r\nusemtl {WHO}\r\nusemtl b\r\n"),
    ).encode(),
    "OBJ line of another kind": inputs.obj_text(*BOX, head=f"call {WHO}\nvt {WHO}\n").encode(),
    "OBJ continued comment": inputs.obj_text(*BOX, head=f"o \\\n{WHO}\n").encode(),
    "OBJ with CR only": inputs.obj_text(*BOX, eol="\r", head=f"# {WHO}\r").encode(),
}


@pytest.mark.parametrize("data", CARRIERS.values(), ids=CARRIERS.keys())
def test_a39_no_name_leaves_and_no_coordinate_changes(data):
    made, removed = without_names(data, "scan")

    for encoding in ("utf-8", "utf-16-le", "utf-16-be"):
        assert "Testp".encode(encoding).lower() not in made.lower()
        assert "1970".encode(encoding) not in made
    assert removed and not any("Testperson" in one for one in removed)
    before, after = read_mesh(data, "scan"), read_mesh(made, "scan")
    assert geometry_digest(before) == geometry_digest(after)
    assert (before.triangles_mm == after.triangles_mm).all()
    assert (before.face_colours is None) == (after.face_colours is None)
    assert before.face_colours is None or (before.face_colours == after.face_colours).all()


@pytest.mark.parametrize("data", CARRIERS.values(), ids=CARRIERS.keys())
def test_a_file_without_names_is_left_as_it_is(data):
    made, _ = without_names(data, "scan")
    assert without_names(made, "scan") == (made, ())


def test_the_records_of_a_binary_stl_are_the_same_bytes():
    data = inputs.stl_binary(*BOX, header=WHO.encode(), attributes=np.arange(12))
    made, _ = without_names(data, "scan.stl")
    assert made[80:] == data[80:] and len(made) == len(data)
    assert not made.lower().startswith(b"solid")


def test_colours_and_known_properties_of_a_ply_are_the_same_bytes():
    more = [("uchar", name, np.arange(8)) for name in ("red", "green", "blue", "alpha")]
    data = inputs.ply_binary(*BOX, more=more, comments=[WHO])
    made, removed = without_names(data, "scan.ply")
    assert made == inputs.ply_binary(*BOX, more=more)
    assert removed == ("comment lines (1)",)


def test_coordinates_of_a_text_keep_their_digits():
    text = inputs.obj_text(*shapes.sphere(sides=8), number="{:.17g}")
    made, _ = without_names(f"# {WHO}\n{text}".encode(), "part.obj")
    assert made.decode().lstrip() == text


def test_a_file_that_cannot_be_read_is_refused():
    with pytest.raises(MeshUnreadable, match="cut off"):
        without_names(inputs.stl_binary(*BOX)[:-3], "scan.stl")


def test_the_digest_sees_every_coordinate_and_no_name():
    def digest(vertices, faces, header=b"a"):
        return geometry_digest(
            read_mesh(inputs.stl_binary(vertices, faces, header=header), "s")
        )

    vertices, faces = BOX
    moved = vertices.copy()
    moved[3, 1] = np.nextafter(np.float32(8), np.float32(9))
    assert digest(vertices, faces) == digest(vertices, faces, b"b")
    assert digest(vertices, faces) == digest(vertices * [1, 1, 1] - 0.0, faces)
    assert digest(vertices, faces) != digest(moved, faces)
    assert digest(vertices, faces) != digest(vertices, faces[:, ::-1])
    ply = read_mesh(inputs.ply_binary(vertices, faces), "s.ply")
    assert geometry_digest(ply) == digest(vertices, faces)
