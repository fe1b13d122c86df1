"""Is a version found that lacks meshes, part numbers or materials?"""

import pytest

from casework.stages import guarded_by
from tests.casework.checks.good import codes, design_part, good

NAME = "design_complete"


def test_guards():
    assert guarded_by(NAME) == {"submit_design"}


@pytest.mark.parametrize(
    ("part", "expected"),
    [
        (design_part("custom abutment", ["45"]), []),
        (
            design_part("custom abutment", ["45"], file_number=None),
            ["stop no_mesh custom abutment (ISO 45)"],
        ),
        (
            design_part("crown", ["45"], material=None),
            ["ask no_material crown (ISO 45)"],
        ),
        (design_part("base", ["45"], component=None), ["stop no_number base (ISO 45)"]),
    ],
    ids=["whole", "no mesh", "no material", "no number"],
)
def test_part(part, expected):
    facts = good()
    facts["design"]["parts"].append(part)

    assert codes(NAME, facts) == expected


@pytest.mark.parametrize("state", ["approved", "returned", "voided"])
def test_version_that_ended_cannot_be_submitted(state):
    facts = good()
    facts["design"]["state"] = state

    assert codes(NAME, facts) == ["stop no_version"]


def test_no_version_stops():
    assert codes(NAME, good(design=None)) == ["stop no_version"]


def test_stock_parts_alone_are_no_design():
    facts = good()
    facts["design"]["parts"] = [design_part("base", ["45"])]

    assert codes(NAME, facts) == ["stop no_made_part"]


def test_missing_notes_are_noted():
    facts = good()
    facts["design"]["notes"] = " "

    assert codes(NAME, facts) == ["note no_notes"]
