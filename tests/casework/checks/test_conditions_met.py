"""Does an unmet condition stop the move it must precede, and no other?"""

import pytest

from casework.stages import guarded_by
from tests.casework.checks.good import codes, good

NAME = "conditions_met"


def test_guards():
    assert guarded_by(NAME) == {
        "submit_design",
        "send_to_milling",
        "dispatch_for_try_in",
        "dispatch_for_delivery",
    }


@pytest.mark.parametrize(
    ("before", "move", "stops"),
    [
        ("send_to_milling", "send_to_milling", True),
        ("send_to_milling", "submit_design", False),
        ("dispatch_for_try_in", "dispatch_for_delivery", True),
        ("dispatch_for_delivery", "dispatch_for_try_in", False),
    ],
)
def test_condition(before, move, stops):
    condition = {"text": "Shade of 44?", "before_move": before, "is_met": False}
    facts = good(conditions=[condition])
    facts["move"]["name"] = move

    assert codes(NAME, facts) == (["stop not_met"] if stops else [])


def test_met_condition_passes():
    condition = {"text": "Shade?", "before_move": "send_order", "is_met": True}

    assert codes(NAME, good(conditions=[condition])) == []
