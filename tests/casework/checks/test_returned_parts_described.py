"""Do parts go back disinfected, named and carried by somebody?"""

import pytest

from casework.stages import guarded_by
from tests.casework.checks.good import codes, good

NAME = "returned_parts_described"


def test_guards():
    assert guarded_by(NAME) == {"return_to_finish", "return_to_redesign"}


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        ({"lines": []}, ["stop empty"]),
        ({"courier": ""}, ["stop no_courier"]),
        ({"disinfected": False}, ["stop not_disinfected"]),
    ],
    ids=lambda value: str(value)[:40],
)
def test_parcel(changes, expected):
    facts = good()
    facts["parcel"] |= changes

    assert codes(NAME, facts) == expected


@pytest.mark.parametrize(
    ("move", "expected"),
    [
        ("return_to_finish", ["stop no_parcel"]),
        ("return_to_redesign", ["note nothing_travels"]),
    ],
)
def test_only_a_redesign_may_go_without_parts(move, expected):
    facts = good(parcel=None)
    facts["move"]["name"] = move

    assert codes(NAME, facts) == expected
