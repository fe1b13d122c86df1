"""Does the command line measure without a database, and say by its exit code what it found?"""

import json
import os
import resource
import subprocess
import sys
from io import StringIO

import jsonschema
import numpy as np
import pytest
from django.conf import settings
from django.core.management import CommandError, call_command

from casework.benchmark.inspecting import ring
from casework.demo.meshes import ScanBodyForm, lower_arch
from casework.demo.meshes.writing import write_stl
from casework.exchange.measure_schemas import RESULT_SCHEMA, SET_SCHEMA
from casework.management.commands.measure import EXAMPLES
from tests.shapes import box, cylinder, sheet, tetrahedron

FORM = "diameter=4.5,height=8,flat_depth=0.7,flat_from=3.6,bevel=0.4"


def run(*args):
    """The exit code and the result of a command, held against the published schema."""
    out = StringIO()
    with pytest.raises(SystemExit) as ended:
        call_command("measure", *(str(arg) for arg in args), "--json", stdout=out)
    result = json.loads(out.getvalue())
    jsonschema.validate(result, RESULT_SCHEMA)
    assert ended.value.code == result["exit_code"]
    return result["exit_code"], result


def values(result, quantity):
    return [row["value"] for row in result["results"] if row["quantity"] == quantity]


def codes(result):
    return {row["code"] for row in result["findings"]}


@pytest.fixture
def write(tmp_path):
    def written(name, vertices, faces):
        write_stl(tmp_path / name, vertices, faces)
        return tmp_path / name

    return written


def test_a_sound_part_has_no_finding(write):
    path = write("part.stl", *cylinder(radius=4, height=8, sides=200))
    code, result = run("scan", path, "--role", "crown")
    assert (code, result["findings"]) == (0, [])
    assert values(result, "scan_largest_side") == [pytest.approx(8.0, abs=0.01)]


def test_an_open_part_is_a_finding(write):
    vertices, faces = box(5, 5, 5)
    code, result = run("scan", write("open.stl", vertices, faces[1:]), "--role", "bridge")
    assert code == 1 and "open" in codes(result)


@pytest.mark.parametrize(
    "content,says",
    [(b"", "empty"), (b"\x00" * 83 + b"\x07" * 90, "binary data"), (None, "not there")],
)
def test_what_cannot_be_read_is_two_with_the_reason(tmp_path, content, says):
    path = tmp_path / "scan.stl"
    if content is not None:
        path.write_bytes(content)
    code, result = run("scan", path)
    assert code == 2 and says in result["problems"][0]


def test_unreadable_is_two_whatever_else_was_found(write, tmp_path):
    vertices, faces = box(5, 5, 5)
    write("open.stl", vertices, faces[1:])
    (tmp_path / "none.stl").write_bytes(b"")
    (tmp_path / "set.json").write_text(
        json.dumps(
            {
                "format": "casework-measure-set",
                "version": 1,
                "files": [
                    {"path": "open.stl", "role": "crown", "sites": ["36"]},
                    {"path": "none.stl", "role": "opposing_arch"},
                ],
            }
        )
    )
    code, result = run("design", tmp_path / "set.json")
    assert code == 2 and "open" in codes(result) and "none.stl" in " ".join(result["problems"])


def test_scan_bodies_are_found_without_a_click(write):
    scan = lower_arch(3, ("35", "36", "37"), dict.fromkeys(("35", "37"), ScanBodyForm()),
                      span=("33", "37"), triangles=30_000)  # fmt: skip
    path = write("scan.stl", scan.vertices, scan.faces)

    code, result = run("scan-bodies", path, "--form", FORM, "--expect", 2)

    assert values(result, "scan_bodies_found") == [2]
    places = [
        np.array(row["details"]["origin_mm"])
        for row in result["results"]
        if row["quantity"] == "scan_body_origin"
    ]
    for site in ("35", "37"):
        away = [np.linalg.norm(place - scan.implants[site].platform) for place in places]
        assert min(away) < 0.02
    assert code in (0, 1)


def test_a_scan_body_that_is_not_there_is_a_finding(write):
    scan = lower_arch(3, (), None, span=("33", "37"), triangles=20_000)
    path = write("scan.stl", scan.vertices, scan.faces)
    code, result = run("scan-bodies", path, "--form", FORM)
    assert code == 1 and values(result, "scan_bodies_found") == [0]


def test_a_scan_that_is_turned_inside_out_is_said_to_be(write):
    scan = lower_arch(3, ("35", "36", "37"), dict.fromkeys(("35", "37"), ScanBodyForm()),
                      span=("33", "37"), triangles=30_000)  # fmt: skip
    code, result = run(
        "scan-bodies", write("scan.stl", scan.vertices, scan.faces[:, ::-1]), "--form", FORM
    )
    assert code == 2 and "turned inside out" in " ".join(result["problems"])


def test_a_part_that_is_inside_out_is_measured_as_it_was_meant(tmp_path, write):
    def walls(faces):
        path = write("part.stl", part[0], faces)
        document = {"format": "casework-measure-set", "version": 1, "files": [
            {"path": path.name, "role": "crown", "sites": ["36"]}]}  # fmt: skip
        (tmp_path / "set.json").write_text(json.dumps(document))
        _code, result = run("design", tmp_path / "set.json")
        return values(result, "local_thickness"), codes(result)

    part = box(8.0, 8.0, 1.0)
    (right, _), (turned, said) = walls(part[1]), walls(part[1][:, ::-1])

    assert right and turned == right and "turned" in said


@pytest.mark.parametrize("form", ["diameter=4.5", "diameter=4.5,height=x", "colour=red"])
def test_a_form_that_is_none_is_refused_in_a_sentence(write, form):
    code, result = run("scan-bodies", write("s.stl", *sheet()), "--form", form)
    assert code == 2 and form in result["problems"][0]


def test_a12_a_mirror_image_is_said_to_be_one(write):
    vertices, faces = tetrahedron(10, 7, 4)
    one = write("design_v1.stl", vertices, faces)
    two = write("design_v2.stl", vertices * [-1, 1, 1] + [10, 0, 0], faces[:, ::-1])

    code, result = run("change", one, two)

    assert code == 1 and "mirrored" in codes(result)
    assert {row["weight"] for row in result["findings"] if row["code"] == "mirrored"} == {
        "stop"
    }


def test_the_same_surface_has_not_changed(write):
    path = write("same.stl", *cylinder())
    code, result = run("change", path, path)
    assert code == 0 and values(result, "change_largest") == [0.0]


def jaws(tmp_path, lower):
    (tmp_path / "set.json").write_text(
        json.dumps(
            {
                "format": "casework-measure-set",
                "version": 1,
                "files": [
                    {"path": "upper.stl", "role": "opposing_arch"},
                    {"path": lower, "role": "working_arch"},
                ],
            }
        )
    )
    return run("design", tmp_path / "set.json")


def test_a38_jaws_in_one_frame_have_a_distance(write, tmp_path):
    write("upper.stl", *box(60, 45, 10, at=(0, 0, 10.5)))
    write("lower.stl", *box(60, 45, 10))
    _code, result = jaws(tmp_path, "lower.stl")
    assert values(result, "jaw_distance") == [pytest.approx(0.5, abs=1e-3)]


def test_a38_jaws_in_two_frames_have_none(write, tmp_path):
    write("upper.stl", *box(60, 45, 10, at=(0, 0, 10.5)))
    write("lower.stl", *box(60, 45, 10, at=(-30, -22.5, -65)))
    code, result = jaws(tmp_path, "lower.stl")
    assert code == 2 and values(result, "jaw_distance") == [None]
    assert "not in one frame" in " ".join(result["problems"])
    assert "65.5 mm" in " ".join(result["problems"])


@pytest.mark.parametrize("text", ["", "{", "[]", '{"format": "other"}'])
def test_a_set_that_is_none_is_refused(tmp_path, text):
    (tmp_path / "set.json").write_text(text)
    code, result = run("design", tmp_path / "set.json")
    assert code == 2 and result["problems"]


def test_the_schemas_are_printed_with_an_example_of_each():
    out = StringIO()
    call_command("measure", "--schema", stdout=out)
    printed = json.loads(out.getvalue())
    jsonschema.validate(printed["set"]["example"], SET_SCHEMA)
    jsonschema.validate(printed["result"]["example"], RESULT_SCHEMA)


@pytest.mark.slow
def test_the_example_measures_as_it_says():
    expected = json.loads((EXAMPLES / "result.json").read_text())
    _code, result = run("design", EXAMPLES / "set.json")

    assert [(row["quantity"], row["subject"]) for row in result["results"]] == [
        (row["quantity"], row["subject"]) for row in expected["results"]
    ]
    for row, told in zip(result["results"], expected["results"], strict=True):
        assert row["value"] == (
            None if told["value"] is None else pytest.approx(told["value"], rel=1e-3, abs=1e-3)
        )
    assert codes(result) == codes(expected)


def in_a_process(*args, threads=1, most_bytes=None):
    """The finished process of a command of its own."""

    def bounded():
        if most_bytes:
            resource.setrlimit(resource.RLIMIT_DATA, (most_bytes, most_bytes))

    names = ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS")
    return subprocess.run(
        [sys.executable, "manage.py", "measure", *(str(arg) for arg in args), "--json"],
        cwd=settings.BASE,
        env=os.environ | dict.fromkeys(names, str(threads)),
        preexec_fn=bounded,
        capture_output=True,
    )


@pytest.mark.slow
def test_same_input_same_bytes_whatever_the_threads():
    """One thread in the libraries of numbers, or four."""
    one, four = (in_a_process("design", EXAMPLES / "set.json", threads=n) for n in (1, 4))

    assert one.returncode == four.returncode != 2, one.stderr
    assert len(one.stdout) > 10_000 and one.stdout == four.stdout


@pytest.mark.slow
def test_two_million_triangles_are_measured_in_bounded_memory(tmp_path):
    path = tmp_path / "huge.stl"
    write_stl(path, *ring(2_000_000))

    done = in_a_process("scan", path, most_bytes=1_500_000_000)

    assert done.returncode in (0, 1), done.stderr
    values = {row["quantity"]: row["value"] for row in json.loads(done.stdout)["results"]}
    # The largest side of a torus of R = 20 mm and r = 6 mm.
    assert values["scan_largest_side"] == pytest.approx(52.0, abs=0.01)


def test_nothing_to_measure_says_what_there_is():
    with pytest.raises(CommandError, match="scan, scan-bodies, design or change"):
        call_command("measure")


def test_it_reads_for_a_person_too(write):
    out = StringIO()
    with pytest.raises(SystemExit):
        call_command("measure", "scan", str(write("p.stl", *cylinder())), stdout=out)
    assert "scan_largest_side p.stl" in out.getvalue() and "clinician" in out.getvalue()
