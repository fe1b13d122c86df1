"""What may a version be made of, and what does its digest cover?"""

import pytest

from casework.designs import rules

ORDERED, SITES = ("45", "46", "47"), ("45", "47")


def objections(kind, sites, others=()):
    return rules.objections_to_part(
        kind=kind, sites=sites, ordered=ORDERED, implant_sites=SITES, others=others
    )


@pytest.mark.parametrize(
    ("kind", "sites"),
    [("bridge", ("45", "46", "47")), ("base", ("45",)), ("custom abutment", ("47",))],
)
def test_parts_of_the_order_are_taken(kind, sites):
    assert objections(kind, sites) == ()


@pytest.mark.parametrize(
    ("kind", "sites", "said"),
    [
        ("veneer", ("45",), "no kind of part"),
        ("bridge", (), "Name the teeth"),
        ("bridge", ("36", "37"), "not part of this order"),
        ("base", ("46",), "no implant in this order"),
        ("bridge", ("45",), "at least two units"),
        ("retaining screw", ("45", "47"), "one implant"),
    ],
)
def test_strange_parts_are_refused(kind, sites, said):
    assert said in objections(kind, sites)[0]


def test_two_restorations_cannot_share_a_tooth():
    assert objections("crown", ("45",), others=[("bridge", ("45", "46", "47"))])
    assert objections("base", ("45",), others=[("bridge", ("45", "46", "47"))]) == ()


def test_digest_does_not_depend_on_the_order_of_parts():
    bridge = {"kind": "bridge", "sites": ["45"], "sha256": "a", "component": None}
    screw = {"kind": "retaining screw", "sites": ["45"], "sha256": None, "component": "x"}
    one = rules.digest_facts(code="C", number=1, notes="", parts=[bridge, screw])

    assert one == rules.digest_facts(code="C", number=1, notes="", parts=[screw, bridge])
    assert one != rules.digest_facts(code="C", number=2, notes="", parts=[screw, bridge])


def test_screws_come_from_the_catalogue_by_their_kind():
    assert rules.objections_to_stock("base", "retaining screw", "INV-1")
    assert rules.objections_to_stock("try-in screw", "retaining screw", "INV-1") == ()
    assert rules.objections_to_stock("bridge", "base", "INV-1")
