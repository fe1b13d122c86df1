"""Must cemented work name its cement and the look for excess?"""

import pytest

from casework.stages import guarded_by
from tests.casework.checks.good import codes, good

NAME = "cement_checked"


def test_guards():
    assert guarded_by(NAME) == {"deliver"}


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        ({"cement": "C1", "excess_checked": True, "excess_checked_how": "floss"}, []),
        ({"excess_checked": True, "excess_checked_how": "floss"}, ["stop no_cement"]),
        ({"cement": "C1"}, ["stop excess_not_checked"]),
        ({"cement": "C1", "excess_checked": False}, ["stop excess_not_checked"]),
        ({"cement": "C1", "excess_checked": True}, ["stop excess_not_checked"]),
    ],
    ids=lambda value: str(value)[:60],
)
def test_cemented(changes, expected):
    facts = good()
    facts["prescription"]["retention"] = "cement"
    facts["delivery"] |= changes

    assert codes(NAME, facts) == expected


def test_unknown_retention_is_not_taken_for_a_screw():
    assert codes(NAME, good(prescription=None)) == ["stop no_prescription"]


def test_no_delivery_is_said_by_another_check():
    facts = good(delivery=None)
    facts["prescription"]["retention"] = "cement"

    assert codes(NAME, facts) == []
