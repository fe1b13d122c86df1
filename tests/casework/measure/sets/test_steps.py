"""Does a step take from the set what it needs, and leave out what is none of its business?"""

from contextlib import contextmanager

import numpy as np
import pytest

from casework.benchmark.bored_parts import abutment
from casework.demo.meshes.writing import write_stl
from casework.measure.sets.meshes import Meshes
from casework.measure.sets.plan import Work
from casework.measure.sets.steps import regions, screws, sites
from casework.measure.sets.told import CaseSet, File, Site
from tests.shapes import box, cylinder, sheet, tube

UP = {"origin_mm": [0, 0, 0], "axis": [0, 0, 1], "toward": [1, 0, 0]}
SCREW = {"name": "s", "head_diameter_mm": 1.8, "head_height_mm": 1.6, "seat_height_mm": 1.0,
         "shank_diameter_mm": 1.3}  # fmt: skip


@pytest.fixture
def ran(tmp_path):
    """Runs the steps of one module over meshes by name; returns the results by quantity."""

    def run(module, told, meshes, handed):
        for name, mesh in meshes.items():
            write_stl(tmp_path / name, *mesh)

        @contextmanager
        def locate(name):
            yield tmp_path / name

        work = Work(told, Meshes(told, locate), handed)
        return [
            one for planned in module.plan(told) for one in planned.run(work, planned).results
        ]

    return run


def through(ran, crown, retention):
    told = CaseSet(
        files=(File("crown", "crown", sites=("36",)), File("post", "abutment", sites=("36",))),
        sites=(Site("36", screw=SCREW),),
        retention=retention,
    )
    handed = {("sites", ""): {"poses": {"36": UP}}}
    found = ran(screws, told, {"crown": crown, "post": abutment()}, handed)
    (channel,) = [one for one in found if one.quantity == "screw_channel_radius"]
    return channel.details


def lid():
    """Closed over the abutment, and wider than it."""
    vertices, faces = cylinder(4.0, 2.0)
    return vertices + [0, 0, 9.0], faces


def test_a_crown_cemented_over_the_screw_is_not_in_its_way(ran):
    assert not through(ran, lid(), "cement")["is_blocked"]


def test_a_crown_without_its_channel_is_in_the_way_of_a_screw_that_holds_it(ran):
    for retention in ("screw", ""):
        told = through(ran, lid(), retention)
        assert told["is_blocked"] and told["part"] == "crown"


def test_a_cemented_crown_with_a_channel_is_measured_with_it(ran):
    vertices, faces = tube(4.0, 0.7, 2.0)

    channel = through(ran, (vertices + [0, 0, 9.0], faces), "cement")

    assert not channel["is_blocked"] and channel["part"] == "crown"


def body(**changes):
    return {
        "number": 1, "form": "one", "also_fits": [], "height_mm": 8.0, "reach_mm": 2.0,
        "origin_95_mm": 0.003, "axis_95_deg": 0.02, "rotation_known": True,
        "height_known": True, **UP,
    } | changes  # fmt: skip


def test_a_scan_is_judged_at_its_scan_bodies_and_elsewhere(ran):
    """A cylinder beside a sheet of 10 mm squares.

    It has as many edges along its rims, along its radii of 2 mm and up its wall.
    """
    round_mm, sheet_mm = cylinder(2.0, 8.0, 32), sheet(6)
    scan = (
        np.concatenate([round_mm[0], sheet_mm[0] + [20, 20, 0]]),
        np.concatenate([round_mm[1], sheet_mm[1] + len(round_mm[0])]),
    )
    told = CaseSet(
        files=(File("scan", "working_arch_scan_bodies"),),
        sites=(Site("36", scan_body="one"),),
        forms={"one": {"diameter_mm": 4, "height_mm": 8}},
    )
    handed = {("scan_bodies", "scan"): {"found": [body()]}}

    found = ran(regions, told, {"scan": scan}, handed)

    edges = {one.subject: one.value for one in found if one.quantity == "region_edge"}
    assert list(edges) == ["scan at scan body 1", "scan elsewhere"]
    assert edges["scan at scan body 1"] == pytest.approx(2.0, abs=1e-6)
    assert edges["scan elsewhere"] >= 10.0


def test_contacts_of_the_gap_are_places_that_matter(ran):
    told = CaseSet(files=(File("arch", "working_arch"),), sites=(Site("36"),))
    step = next(iter(regions.plan(told)))
    width = {
        "quantity": "gap_width", "subject": "36", "value": 9.0,
        "details": {"contacts_mm": [[1.0, 2.0, 0.0], [9.0, 2.0, 0.0]]},
    }  # fmt: skip
    work = Work(told, None, {}, {regions.WIDTH: [width]})

    names = [one.name for one in regions._contacts(work, step)]

    assert step.after == (regions.WIDTH,)
    assert names == ["contact 1 of the gap 36", "contact 2 of the gap 36"]


def test_a_site_remembers_which_body_was_recorded_there(ran):
    told = CaseSet(
        files=(File("scan", "working_arch_scan_bodies"),),
        sites=(Site("36", scan_body="two"),),
        forms={"one": {}, "two": {}},
    )
    found = ran(sites, told, {"scan": box()}, {("scan_bodies", "scan"): {"found": [body()]}})

    (pose,) = found
    assert (pose.details["named_form"], pose.details["form"]) == ("two", "one")
