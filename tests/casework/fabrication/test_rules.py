"""Which parts are wanted, who inspects, and what did a parcel bring?"""

from datetime import date

import pytest

from casework.fabrication import rules
from casework.stages import Side

TODAY = date(2026, 4, 13)


def test_every_site_gets_a_final_and_a_try_in_screw():
    design = [
        {"id": 1, "kind": "bridge", "sites": ["45", "46", "47"], "component": None},
        {"id": 2, "kind": "retaining screw", "sites": ["45"], "component": 9},
    ]

    wanted = rules.parts_wanted(design, ("45", "47"))

    assert [(part.kind, part.sites, part.component) for part in wanted] == [
        ("bridge", ("45", "46", "47"), None),
        ("retaining screw", ("45",), 9),
        ("try-in screw", ("45",), 9),
        ("retaining screw", ("47",), None),
        ("try-in screw", ("47",), None),
    ]


@pytest.mark.parametrize(
    ("is_maker", "technicians", "refused"),
    [(True, 1, False), (True, 2, True), (False, 2, False)],
)
def test_maker_inspects_only_where_alone(is_maker, technicians, refused):
    found = rules.objections_to_inspection(
        kind="bridge",
        place="at laboratory",
        made_on=TODAY,
        is_maker=is_maker,
        technician_count=technicians,
    )

    assert bool(found) == refused


def test_what_is_not_made_or_not_here_is_not_inspected():
    common = {"is_maker": False, "technician_count": 2}

    assert rules.objections_to_inspection(
        kind="bridge", place="at laboratory", made_on=None, **common
    )
    assert rules.objections_to_inspection(
        kind="bridge", place="on the way", made_on=TODAY, **common
    )
    assert not rules.objections_to_inspection(
        kind="retaining screw", place="at laboratory", made_on=None, **common
    )


@pytest.mark.parametrize(
    ("lines", "outcome"),
    [
        ([(True, True), (True, True)], "arrived"),
        ([(True, True), (False, False)], "arrived"),
        ([(True, True), (True, False)], "damaged"),
        ([(False, False), (False, False)], "lost"),
        ([], "lost"),
    ],
)
def test_outcome_of_a_count(lines, outcome):
    assert rules.outcome_of_count(lines) == outcome


@pytest.mark.parametrize(
    ("there", "sound", "side", "place"),
    [
        (True, True, Side.PRACTICE, "at practice"),
        (True, True, Side.LABORATORY, "at laboratory"),
        (True, False, Side.PRACTICE, "damaged"),
        (False, False, Side.PRACTICE, "lost"),
    ],
)
def test_place_after_a_count(there, sound, side, place):
    assert rules.place_after_count(there, sound, side) == place


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({}, None),
        ({"courier": " "}, "courier"),
        ({"expected_on": None}, "should arrive"),
        ({"expected_on": date(2026, 4, 12)}, "that day is over"),
        ({"parts": []}, "parts that travel"),
        ({"parts": [("bridge", ("45",), "on the way")]}, "cannot be packed"),
        ({"parts": [("bridge", ("45",), "damaged")]}, "cannot be packed"),
    ],
)
def test_parcel_says_what_who_and_when(change, said):
    told = {
        "courier": "Rider",
        "expected_on": TODAY,
        "parts": [("bridge", ("45",), "at laboratory")],
    } | change

    found = rules.objections_to_parcel(today=TODAY, side=Side.LABORATORY, **told)

    assert found == () if said is None else said in found[0]


def test_damaged_part_may_go_back_to_the_bench():
    found = rules.objections_to_parcel(
        courier="Rider",
        expected_on=TODAY,
        today=TODAY,
        parts=[("bridge", ("45",), "damaged")],
        side=Side.PRACTICE,
    )

    assert found == ()
