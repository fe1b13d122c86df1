"""Does work go to delivery only after a passed try-in, or where none was ordered?"""

import pytest

from casework.stages import guarded_by
from tests.casework.checks.good import codes, good

NAME = "try_in_over"


def test_guards():
    assert guarded_by(NAME) == {"dispatch_for_delivery"}


@pytest.mark.parametrize(
    ("wanted", "is_passed", "rows", "expected"),
    [
        (True, True, [{}], []),
        (True, False, [{}], ["stop not_passed"]),
        (True, False, [], ["stop not_tried_in"]),
        (False, False, [], []),
    ],
)
def test_try_in(wanted, is_passed, rows, expected):
    facts = good()
    facts["prescription"]["try_in_wanted"] = wanted
    facts["try_ins"] |= {"is_passed": is_passed, "rows": rows}

    assert codes(NAME, facts) == expected


def test_unknown_wish_stops():
    assert codes(NAME, good(prescription=None)) == ["stop no_prescription"]
