"""Are OBJ files of every make read exactly, or refused with the reason?"""

import numpy as np
import pytest

from casework.measure.integrity import inspect
from casework.measure.reading import read_mesh
from tests import shapes
from tests.casework.measure import inputs
from tests.casework.measure.test_reading import BOX, assert_is_the_box, codes, refused


def test_a22_polygons_are_split():
    angles = np.arange(6) * np.pi / 3
    lines = ["# hexagonal prism, radius 5, height 6"]
    lines += [f"v {5 * np.cos(a):.9f} {5 * np.sin(a):.9f} {z}" for z in (0, 6) for a in angles]
    lines += ["f 6 5 4 3 2 1", "f 7 8 9 10 11 12"]
    lines += [f"f {i + 1} {(i + 1) % 6 + 1} {(i + 1) % 6 + 7} {i + 7}" for i in range(6)]

    found = inspect(read_mesh("\n".join(lines).encode(), "part.obj"))

    assert found.triangles == 20
    assert found.volume_mm3 == pytest.approx(389.711432, abs=1e-5)
    assert found.area_mm2 == pytest.approx(309.903811, abs=1e-5)


@pytest.mark.parametrize("first", range(6))
@pytest.mark.parametrize("turned", [False, True])
def test_a22_a_hollow_polygon_keeps_its_area(first, turned):
    ring = [(0, 0), (4, 0), (4, 4), (2, 1), (0, 4), (-1, 2)]  # area 10.5 by the surveyor's rule
    area = (
        abs(
            sum(
                a[0] * b[1] - a[1] * b[0]
                for a, b in zip(ring, ring[1:] + ring[:1], strict=True)
            )
        )
        / 2
    )
    order = [(first + k) % 6 + 1 for k in range(6)][:: -1 if turned else 1]
    spun = np.array([(x, y, 0.5) for x, y in ring]) @ shapes.rotation(first).T
    text = "".join("v {!r} {!r} {!r}\n".format(*map(float, p)) for p in spun)

    found = inspect(read_mesh(f"{text}f {' '.join(map(str, order))}\n".encode(), "part.obj"))

    assert found.triangles == 4 and found.hole_count == 1 and found.border_edges == 6
    assert found.area_mm2 == pytest.approx(area, rel=1e-9)
    assert found.is_consistently_wound


def test_a23_negative_indices_count_back_from_their_line():
    lines = []
    for at in ((0, 0, 0), (20, 0, 0)):
        vertices, faces = shapes.box(at=at)
        lines += ["v {:g} {:g} {:g}".format(*v) for v in vertices]
        lines += ["f " + " ".join(str(int(i) - 8) for i in face) for face in faces]

    found = inspect(read_mesh("\n".join(lines).encode(), "part.obj"))

    assert found.triangles == 24 and found.island_count == 2
    assert found.extents_mm == (30, 8, 6) and found.volume_mm3 == pytest.approx(960)


@pytest.mark.parametrize(
    ("colour", "wanted"),
    [
        (" 0.8 0.7 0.6", [204, 178, 153]),
        (" 204 178 153", [204, 178, 153]),
        (" 0.8 0.7 0.6 1.0", [204, 178, 153]),
    ],
)
def test_a24_colours_after_the_coordinates(colour, wanted):
    mesh = read_mesh(inputs.obj_text(*BOX, after_vertex=colour).encode(), "part.obj")

    assert_is_the_box(mesh, "OBJ")
    assert mesh.colours[0].tolist() == wanted


def test_a_fourth_number_is_no_colour():
    mesh = read_mesh(inputs.obj_text(*BOX, after_vertex=" 1.0").encode(), "part.obj")
    assert_is_the_box(mesh, "OBJ")
    assert mesh.colours is None


def test_a25_the_colour_file_that_is_missing_is_named_whole():
    head = "mtllib upper jaw colours.mtl\no upper jaw\nusemtl surface one\n"
    data = inputs.obj_text(*BOX, head=head).encode()

    mesh = read_mesh(data, "upper jaw scan.obj")

    assert_is_the_box(mesh, "OBJ")
    assert codes(mesh) == ["colour_file_missing"]
    assert "upper jaw colours.mtl" in mesh.notes[0].sentence()
    came = ["case/Upper Jaw Colours.mtl"]
    assert not read_mesh(data, "upper jaw scan.obj", companions=came).notes


@pytest.mark.parametrize("form", ["{}/{}", "{}//{}", "{}/{}/{}", "{}/"])
def test_corners_with_texture_and_normal_numbers(form):
    text = inputs.obj_text(BOX[0], [])
    text += "vt 0 0\nvn 0 0 1\ns off\ng a\n" + "".join(
        "f " + " ".join(form.format(i + 1, 1, 1) for i in face) + "\n" for face in BOX[1]
    )
    assert_is_the_box(read_mesh(text.encode(), "part.obj"), "OBJ")


@pytest.mark.parametrize("eol", ["\n", "\r\n", "\r"])
def test_lines_continued_with_a_backslash(eol):
    text = inputs.obj_text(*BOX, eol=eol).replace("f 1 ", f"f 1 \\{eol}  ")
    assert_is_the_box(read_mesh(text.encode(), "part.obj"), "OBJ")


def test_faces_before_their_vertices_and_comments_behind():
    vertices, faces = BOX
    text = "".join("f {} {} {} # face\n".format(*(face + 1)) for face in faces)
    text += "".join("v {:g} {:g} {:g} # point\n".format(*v) for v in vertices)
    assert_is_the_box(read_mesh(text.encode(), "part.obj"), "OBJ")


@pytest.mark.parametrize(
    ("change", "code", "word"),
    [
        (("v 0 8 6", "v 0 8,25 6"), "decimal_comma", "line 4"),
        (("v 0 8 6", "v 0 8 six"), "bad_number", "six"),
        (("v 0 8 6", "v 0 8"), "bad_line", "line 4"),
        (("v 0 8 6", "v 0 inf 6"), "not_finite", "vertex 4"),
        (("v 0 8 6", "v 0 1e300 6"), "coordinate_too_large", "vertex 4"),
        (("f 1 2 4", "f 1 2 9"), "index_out_of_range", "vertex 9"),
        (("f 1 2 4", "f 1 2 -9"), "index_out_of_range", "face 1 "),
        (("f 1 2 4", "f 1 2 0"), "bad_line", "line 9"),
        (("f 1 2 4", "f 1 2 4/name"), "bad_line", "line 9"),
        (("v 0 8 6", "v 0 8\x106 1"), "bad_number", "line 4"),
        (("v 0 8 6", "v 0 8 6#note"), "bad_number", "line 4"),
        (("f 1 2 4", "f 1 b 4"), "bad_line", "line 9"),
        (("f 1 2 4", "f 1 2 99999999999999999999"), "bad_line", "line 9"),
    ],
)
def test_faults_of_an_obj_are_named(change, code, word):
    found, sentence = refused(inputs.obj_text(*BOX).replace(*change, 1).encode(), "part.obj")
    assert found == code and word in sentence


def test_points_without_faces_are_refused():
    code, sentence = refused(inputs.obj_text(BOX[0], []).encode(), "part.obj")
    assert code == "points_only" and "8 points" in sentence


def test_lines_of_an_unknown_kind_are_remarked_on():
    mesh = read_mesh(
        inputs.obj_text(*BOX, head="curv 0 1 2\ncurv 1 2 3\n").encode(), "part.obj"
    )
    assert_is_the_box(mesh, "OBJ")
    assert codes(mesh) == ["lines_skipped"] and "line 1" in mesh.notes[0].sentence()


def test_a_hollow_polygon_of_very_many_corners_is_refused():
    turns = np.arange(2002) * 2 * np.pi / 2002
    reach = np.where(np.arange(2002) % 2, 5.0, 10.0)  # a star
    points = np.stack([reach * np.cos(turns), reach * np.sin(turns), 0 * turns], -1)
    code, sentence = refused(inputs.obj_text(points, [range(2002)]).encode(), "part.obj")
    assert code == "polygon_too_large" and "2002 corners" in sentence
