"""Are parts found whose dimensions nobody has at hand?"""

from casework.stages import guarded_by
from tests.casework.checks.good import codes, findings, good

NAME = "components_known"


def test_guards():
    assert guarded_by(NAME) == {"send_order", "submit_design"}


def test_part_outside_the_catalogue_asks():
    facts = good()
    facts["components"][0] |= {"part_number": None, "dimensions": {}, "source": None}

    assert codes(NAME, facts) == ["ask not_in_catalogue 45"]


def test_missing_dimension_asks_by_name():
    facts = good()
    del facts["components"][1]["dimensions"]["diameter_mm"]

    (found,) = findings(NAME, facts)
    assert (found.weight, found.code, found.subject) == ("ask", "dimension_missing", "45")
    assert found.values["missing"] == "diameter"


def test_calliper_readings_are_noted():
    facts = good()
    facts["components"][1]["source"] = "calliper"

    assert codes(NAME, facts) == ["note measured_here 45"]


def test_site_whose_implant_nobody_knows_asks():
    facts = good(components=[])

    assert codes(NAME, facts) == ["ask not_in_catalogue 45", "ask not_in_catalogue 47"]


def test_parts_of_other_sites_are_left_alone():
    facts = good()
    facts["components"].append(facts["components"][0] | {"site": "16", "part_number": None})

    assert codes(NAME, facts) == []


def test_screw_of_the_design_needs_its_head():
    facts = good()
    screw = {"what": "retaining screw", "part_number": "RS-1", "dimensions": {"length_mm": "8"}}
    facts["components"].append(facts["components"][0] | screw)

    (found,) = findings(NAME, facts)
    assert found.values["missing"] == (
        "head diameter, head height, shank diameter, seat height"
    )
