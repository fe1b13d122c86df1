"""Are implants without system, dimensions, day, lot or author found?"""

import pytest

from casework.stages import guarded_by
from tests.casework.checks.good import codes, findings, good, implant

NAME = "implants_recorded"


def test_guards():
    assert guarded_by(NAME) == {"ready_to_scan", "send_order"}


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        ({"lot": "", "identifier": "UDI-1"}, []),
        ({"system": ""}, ["stop system_unknown 45"]),
        ({"connection": ""}, ["stop part_unknown 45"]),
        ({"length_mm": None}, ["stop part_unknown 45"]),
        ({"placed_on": None}, ["stop placed_on_unknown 45"]),
        ({"placed_by": ""}, ["ask placed_by_unknown 45"]),
        ({"lot": ""}, ["ask lot_unknown 45"]),
        ({"lot": "", "identified_how": "by its radiograph"}, ["note identified_otherwise 45"]),
    ],
    ids=lambda value: str(value)[:40],
)
def test_one_implant(changes, expected):
    facts = good(implants=[implant("45", **changes), implant("47")])

    assert codes(NAME, facts) == expected


def test_site_without_implant_stops():
    assert codes(NAME, good(implants=[implant("45")])) == ["stop not_recorded 47"]


def test_nothing_known_stops():
    facts = good(implants=[])
    facts["order"] |= {"sites": []}

    assert codes(NAME, facts) == ["stop no_sites"]


def test_implants_of_another_case_are_left_alone():
    facts = good()
    facts["implants"].append(implant("16", system=""))

    assert codes(NAME, facts) == []


def test_unknown_lot_asks_how_it_was_identified():
    facts = good(implants=[implant("45", lot=""), implant("47")])

    (found,) = findings(NAME, facts)
    assert "second premolar (ISO 45)" in found.values["where"]
