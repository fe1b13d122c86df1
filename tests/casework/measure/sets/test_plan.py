"""Is a step run again only where something that it reads has changed?"""

from contextlib import contextmanager
from dataclasses import replace

import numpy as np

from casework.demo.meshes.writing import write_stl
from casework.measure.results import Quantity
from casework.measure.sets.meshes import Meshes
from casework.measure.sets.plan import Done, Outcome, Planned, keys_of, run_plan
from casework.measure.sets.told import CaseSet, File
from tests.shapes import box

SIZE = Quantity("size", "largest side", "mm", "extents")
A, B = File("a", "working_arch", "aa"), File("b", "opposing_arch", "bb")
TOLD = CaseSet(files=(A, B))


def _size(work, planned):
    vertices = work.mesh(planned.subject).vertices
    side = float(np.ptp(vertices, axis=0).max())
    return Outcome((SIZE.of(planned.subject, side),), {"side_mm": side})


def _ratio(work, planned):
    a, b = (work.handed["size", name]["side_mm"] for name in ("a", "b"))
    return Outcome((SIZE.of("both", a / b),))


PLAN = (
    Planned("size", "1", "a", ("a",), _size),
    Planned("size", "1", "b", ("b",), _size),
    Planned("ratio", "1", "", (), _ratio, after=(("size", "a"), ("size", "b"))),
)


def _meshes(folder, told, *names):
    for place, name in enumerate(names, 1):
        write_stl(folder / name, *box(10.0 * place, 1, 1))

    @contextmanager
    def locate(name):
        yield folder / name

    return Meshes(told, locate)


def test_every_step_is_run_once_and_hands_on(tmp_path):
    done = run_plan(PLAN, TOLD, _meshes(tmp_path, TOLD, "a", "b"))

    assert [one.values["results"][0]["value"] for one in done] == [10.0, 20.0, 0.5]


def test_with_all_results_kept_nothing_is_run(tmp_path):
    first = run_plan(PLAN, TOLD, _meshes(tmp_path, TOLD, "a", "b"))
    rows, started = {one.key: one.values for one in first}, []

    again = run_plan(
        PLAN, TOLD, _meshes(tmp_path, TOLD), kept=lambda planned, key: rows.get(key),
        progress=started.append,
    )  # fmt: skip

    assert started == [] and all(one.is_kept for one in again)
    assert [one.values for one in again] == [one.values for one in first]


def test_another_file_changes_only_the_keys_of_what_reads_it():
    before = keys_of(PLAN, TOLD)
    after = keys_of(PLAN, replace(TOLD, files=(A, replace(B, sha256="cc"))))

    changed = {name for name in before if before[name] != after[name]}
    assert changed == {("size", "b"), ("ratio", "")}


def test_unit_transform_told_values_and_version_are_part_of_the_key():
    def key(planned=PLAN[0], told=TOLD):
        return keys_of([planned], told)["size", "a"]

    turn = (
        (1.0, 0.0, 0.0, 5.0),
        (0.0, 1.0, 0.0, 0.0),
        (0.0, 0.0, 1.0, 0.0),
        (0.0,) * 3 + (1.0,),
    )
    others = {
        key(replace(PLAN[0], version="2")),
        key(replace(PLAN[0], told={"limit_mm": 2.0})),
        key(told=replace(TOLD, files=(replace(A, unit_factor=25.4), B))),
        key(told=replace(TOLD, files=(replace(A, transform=turn), B))),
    }
    assert len(others | {key()}) == 5


def test_a_file_that_is_not_there_stops_what_reads_it_and_nothing_else(tmp_path):
    told = replace(TOLD, files=(A, replace(B, sha256="of no file")))

    done = run_plan(PLAN[:2], told, _meshes(tmp_path, told, "a"))

    assert [one.is_measured for one in done] == [True, False]
    assert "b is not there" in done[1].values["results"][0]["because"]


def test_what_a_step_was_running_when_the_worker_ended_is_run_again(tmp_path):
    kept = {}

    def ends(planned):
        if planned.subject == "b":
            raise KeyboardInterrupt

    try:
        run_plan(
            PLAN, TOLD, _meshes(tmp_path, TOLD, "a", "b"), progress=ends,
            keep=lambda done: kept.update({done.key: done.values}),
        )  # fmt: skip
    except KeyboardInterrupt:
        pass
    assert len(kept) == 1

    done = run_plan(
        PLAN, TOLD, _meshes(tmp_path, TOLD), kept=lambda planned, key: kept.get(key)
    )
    assert [one.is_kept for one in done] == [True, False, False]
    assert done[2].values["results"][0]["value"] == 0.5


def test_a_mesh_is_moved_into_the_frame_of_the_scans(tmp_path):
    shift = (
        (0.0, -1.0, 0.0, 5.0),
        (1.0, 0.0, 0.0, 0.0),
        (0.0, 0.0, 1.0, -2.0),
        (0.0,) * 3 + (1.0,),
    )
    told = CaseSet(files=(replace(A, transform=shift),))

    vertices = _meshes(tmp_path, told, "a").open("a").vertices

    np.testing.assert_allclose(np.ptp(vertices, axis=0), [1, 10, 1])
    np.testing.assert_allclose(vertices.min(axis=0), [4, 0, -2])


def test_what_is_derived_of_a_mesh_is_found_once_while_it_is_open(tmp_path, monkeypatch):
    told, found = CaseSet(files=(A, B, File("c", "bridge", "cc"))), []
    meshes = _meshes(tmp_path, told, "a", "b", "c")

    def make(mesh):
        found.append(mesh)
        return len(mesh.faces)

    assert [meshes.derived("a", "count", make) for _again in range(2)] == [12, 12]
    assert len(found) == 1
    monkeypatch.setattr("casework.measure.sets.meshes.MOST_TRIANGLES_KEPT", 24)
    meshes.open("b"), meshes.open("c")
    meshes.derived("a", "count", make)

    assert len(found) == 2


def test_that_nothing_is_there_was_measured_and_that_nothing_could_be_was_not():
    def done(**details):
        row = SIZE.not_known("a", "No tooth stands there.", **details)
        return Done(PLAN[0], "key", Outcome((row,)).as_dict(), False)

    assert not done().is_measured
    assert done(nothing_there=True).is_measured
