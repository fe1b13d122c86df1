"""Is a milling order found that does not say of what?"""

from casework.stages import guarded_by
from tests.casework.checks.good import codes, good

NAME = "milling_material_named"


def test_guards():
    assert guarded_by(NAME) == {"send_to_milling"}


def test_made_part_without_material_stops():
    facts = good()
    facts["design"]["parts"][0]["material"] = None

    assert codes(NAME, facts) == ["stop not_named bridge (ISO 45, 46, 47)"]


def test_stock_part_needs_none():
    facts = good()
    facts["design"]["parts"][1]["material"] = None

    assert codes(NAME, facts) == []


def test_no_design_stops():
    assert codes(NAME, good(design=None)) == ["stop no_design"]
