"""Do a try-in screw and a sealed final screw travel for every site?"""

import pytest

from casework.stages import guarded_by
from tests.casework.checks.good import codes, good

NAME = "screws_enclosed"


def test_guards():
    assert guarded_by(NAME) == {"dispatch_for_try_in", "dispatch_for_delivery"}


def without(number, move="dispatch_for_try_in"):
    facts = good()
    facts["move"]["name"] = move
    facts["parcel"]["lines"] = [
        line for line in facts["parcel"]["lines"] if line["part_id"] != number
    ]
    return facts


@pytest.mark.parametrize(
    ("number", "move", "expected"),
    [
        (2, "dispatch_for_try_in", ["stop no_final 45"]),
        (5, "dispatch_for_try_in", ["stop no_try_in 47"]),
        (5, "dispatch_for_delivery", []),
        (3, "dispatch_for_delivery", ["stop no_final 47"]),
    ],
)
def test_screw_left_out(number, move, expected):
    assert codes(NAME, without(number, move)) == expected


def test_screw_that_lies_at_the_practice_counts():
    facts = without(2)
    facts["parts"][1]["place"] = "at practice"

    assert codes(NAME, facts) == []


@pytest.mark.parametrize(
    ("changes", "expected"),
    [({"is_sealed": False}, "stop not_sealed 45"), ({"lot": ""}, "stop no_lot 45")],
    ids=lambda value: str(value)[:30],
)
def test_final_screw(changes, expected):
    facts = good()
    facts["parts"][1] |= changes

    assert codes(NAME, facts) == [expected]


def test_no_parcel_encloses_nothing():
    facts = good(parcel=None)

    assert codes(NAME, facts) == ["stop no_final 45", "stop no_final 47"]
