"""Is a parcel only accepted once every part in it was seen there and sound?"""

import pytest

from casework.stages import guarded_by
from tests.casework.checks.good import codes, good

NAME = "parcel_counted"
BRIDGE = "bridge (ISO 45, 46, 47)"


def test_guards():
    assert guarded_by(NAME) == {
        "dispatch_for_try_in",
        "dispatch_for_delivery",
        "return_milled",
        "return_to_finish",
        "return_to_redesign",
    }


@pytest.mark.parametrize(
    ("is_there", "is_sound", "expected"),
    [
        (True, True, []),
        (None, None, [f"stop not_counted {BRIDGE}"]),
        (True, None, [f"stop not_counted {BRIDGE}"]),
        (True, False, [f"stop damaged {BRIDGE}"]),
        (False, None, [f"stop missing {BRIDGE}"]),
        (False, False, [f"stop missing {BRIDGE}"]),
    ],
)
def test_line(is_there, is_sound, expected):
    facts = good()
    facts["parcel"]["lines"][0] |= {"is_there": is_there, "is_sound": is_sound}

    assert codes(NAME, facts) == expected


def test_parcel_on_the_way_stops():
    facts = good()
    facts["parcel"]["arrived"] = False

    assert codes(NAME, facts) == ["stop not_arrived"]


def test_parcel_without_lines_stops():
    facts = good()
    facts["parcel"]["lines"] = []

    assert codes(NAME, facts) == ["stop empty"]


def test_no_parcel_stops():
    assert codes(NAME, good(parcel=None)) == ["stop not_arrived"]


def test_redesign_without_a_parcel_needs_no_counting():
    move = good()["move"] | {"name": "return_to_redesign"}

    assert codes(NAME, good(parcel=None, move=move)) == []
