"""Does a file pass only when it was opened, confirmed, settled in its unit and of a size?

A11, A43: a file whose unit is open stops. A13, A14, A15, A16: said, never silently mended.
Sizes of arches: Mina M et al. Odontology 2017;105:229-236; edge length: preprint 202604.0603
of 2026.
"""

from decimal import Decimal

import pytest

from casework.stages import guarded_by
from tests.casework.checks.good import codes, file, findings, good, integrity

NAME = "scans_readable"


def test_guards():
    assert guarded_by(NAME) == {"send_scans", "return_scans", "send_order"}


def first(**changes):
    facts = good()
    facts["files"][0] |= changes
    return facts


def measured(role="working_arch_scan_bodies", **changes):
    return first(role=role, integrity=integrity(**changes))


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        ({"state": "waiting"}, ["stop being_inspected file 1"]),
        ({"state": "inspecting"}, ["stop being_inspected file 1"]),
        ({"state": "refused", "problem": "It is cut off."}, ["stop unreadable file 1"]),
        ({"state": "failed"}, ["stop unreadable file 1"]),
        ({"is_confirmed": False}, ["stop not_confirmed file 1"]),
        ({"role": ""}, ["stop not_confirmed file 1"]),
        ({"unit_factor": ""}, ["stop unit_open file 1"]),
        ({"integrity": None}, ["stop not_measured file 1"]),
        ({"role": "report", "state": "waiting"}, []),
    ],
    ids=lambda value: str(value)[:50],
)
def test_file(changes, expected):
    assert codes(NAME, first(**changes)) == expected


def test_unit_that_is_open_says_what_the_size_suggests():
    facts = first(unit_factor="", problem="0.06 x 0.05 x 0.02 is not credible for an arch.")

    (found,) = findings(NAME, facts)
    assert "not credible" in found.values["problem"]


def test_picture_that_must_not_leave_stops():
    facts = good()
    facts["files"][5] |= {"problem": "Text is burned into the picture."}

    assert codes(NAME, facts) == ["stop cannot_leave file 6"]


@pytest.mark.parametrize(
    ("side", "odd"), [("14.9", True), ("15", False), ("90", False), ("90.1", True)]
)
def test_size_of_an_arch_or_segment(side, odd):
    size = [Decimal(side), Decimal("10"), Decimal("8")]
    facts = measured(extents_mm=size, islands=[])

    assert codes(NAME, facts) == (["ask size file 1"] if odd else [])


def test_a_speck_far_away_does_not_make_the_scan_large():
    far = [Decimal("400"), Decimal("45"), Decimal("18")]

    assert codes(NAME, measured(extents_mm=far, island_count=2)) == ["note pieces file 1"]


@pytest.mark.parametrize(("edge", "coarse"), [("0.40", False), ("0.41", True)])
def test_edge_length(edge, coarse):
    facts = measured(edge_length_mm={"median": Decimal(edge)})

    assert codes(NAME, facts) == (["ask coarse file 1"] if coarse else [])


def test_edge_length_is_shown_with_limit_and_source():
    (found,) = findings(NAME, measured(edge_length_mm={"median": Decimal("0.618")}))

    assert (found.measured, found.limit) == ("0.62 mm", "0.40 mm")
    assert "mesh density" in found.source


def test_surface_without_edges_is_not_dense():
    assert codes(NAME, measured(edge_length_mm=None)) == ["ask edges_not_known file 1"]


@pytest.mark.parametrize(
    ("role", "weight"), [("working_arch", "ask"), ("opposing_arch", "note")]
)
def test_holes_weigh_where_tissue_is_read(role, weight):
    holes = [{"span_mm": Decimal("62")}, {"span_mm": Decimal("3.2")}]
    facts = measured(role, hole_count=3, holes=holes)

    (found,) = findings(NAME, facts)
    assert (found.weight, found.code) == (weight, "holes")
    assert found.values == {"count": 2, "span": "3.20 mm"}


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        ({"island_count": 2, "smallest_island_triangles": 4}, "note pieces file 1"),
        ({"is_inside_out": True}, "note inside_out file 1"),
        ({"duplicate_triangles": 2}, "note duplicate_triangles file 1"),
        ({"degenerate_triangles": 3}, "note degenerate_triangles file 1"),
        ({"turned_triangles": 1}, "note turned_triangles file 1"),
        ({"non_manifold_edges": 1}, "note non_manifold_edges file 1"),
    ],
    ids=lambda value: str(value)[:50],
)
def test_faults_of_the_surface_are_noted(changes, expected):
    assert codes(NAME, measured(**changes)) == [expected]


def test_the_scan_centre_answers_for_its_own_files_only():
    facts = first(state="waiting")
    facts["move"]["name"] = "return_scans"
    assert codes(NAME, facts) == []

    facts["files"].append(
        file(9, "working_arch", "lower", party_side="scan centre", state="waiting")
    )
    assert codes(NAME, facts) == ["stop being_inspected file 9"]
