"""Is a delivery found without bite, baseline, instructions or implant record?"""

import pytest

from casework.stages import guarded_by
from tests.casework.checks.good import at_chair, codes, good

NAME = "delivery_recorded"


def test_guards():
    assert guarded_by(NAME) == {"deliver"}


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        ({"bite_after": ""}, ["stop no_bite"]),
        ({"baseline_number": None}, ["stop no_baseline"]),
        (
            {"baseline_number": None, "baseline_reason": "taken last month"},
            ["ask no_radiograph"],
        ),
        ({"instructions_given": False}, ["stop no_instructions"]),
        ({"implant_record_given": False}, ["ask no_implant_record"]),
    ],
    ids=lambda value: str(value)[:60],
)
def test_delivery(changes, expected):
    facts = at_chair()
    facts["delivery"] |= changes

    assert codes(NAME, facts) == expected


def test_no_delivery_stops():
    assert codes(NAME, at_chair(delivery=None)) == ["stop not_recorded"]


def test_bone_level_that_nobody_read_asks():
    assert codes(NAME, good()) == ["ask no_bone_level 45", "ask no_bone_level 47"]
