"""Is found what keeps a screw from its seat or a driver from its screw?

Clearance 0.1 to 0.3 mm, 0.2 usual: common practice, no source. Turned channels tested to 25°:
Eur J Dent 2022;16(3):488-499. 0.05 mm at the seat are chosen by this service.
"""

import pytest

from casework.stages import guarded_by
from tests.casework.checks.good import findings, said_of
from tests.casework.checks.measures import measured, value

NAME = "screws_pass"


def channel(is_blocked):
    return value("screw_channel_radius", "45", 0.7, is_blocked=is_blocked, part="file 20")


def leaves(region, turn=None):
    rows = [value("channel_exit", "45", 12, "deg", region=region)]
    if turn is not None:
        rows.append(value("channel_turn", "45", turn, "deg"))
    return rows


def test_guards():
    assert guarded_by(NAME) == {"submit_design", "approve_design"}


@pytest.mark.parametrize(
    ("rows", "expected"),
    [
        ([channel(False)], []),
        ([channel(True)], ["ask blocked 45"]),
        ([value("screw_seat_gap", "45", 0.05)], []),
        ([value("screw_seat_gap", "45", -0.05)], []),
        ([value("screw_seat_gap", "45", 0.06)], ["ask not_seated 45"]),
        ([value("screw_seat_gap", "45", -0.06)], ["ask sinks 45"]),
        ([value("screw_head_clearance", "45", 0.1)], []),
        ([value("screw_head_clearance", "45", 0.09)], ["ask tight_head 45"]),
        ([value("screw_head_clearance", "45", -0.01)], ["ask head_stuck 45"]),
        ([value("driver_clearance", "45", 0.2)], []),
        ([value("driver_clearance", "45", 0.19)], ["note snug_driver 45"]),
        ([value("driver_clearance", "45", 0.1)], ["note snug_driver 45"]),
        ([value("driver_clearance", "45", 0.09)], ["ask tight_driver 45"]),
        ([value("driver_clearance", "45", -0.01)], ["ask driver_stuck 45"]),
        ([value("driver_path", "45", 0.5, at="file 3")], []),
        ([value("driver_path", "45", 0.4, at="file 3")], ["ask driver_near 45"]),
        ([value("driver_path", "45", -0.1, at="file 3")], ["ask driver_meets 45"]),
        ([value("driver_path", "36", -0.1, at="file 3")], []),  # nothing is designed there
        ([value("driver_path", "45", None, because="Why.")], ["ask value_not_known 45"]),
        (leaves("occlusal", 40), []),
        (leaves("palatal", 40), []),
        (leaves("labial", 20), ["ask comes_out 45"]),
        (leaves("incisal", 26), ["ask comes_out 45", "ask turns_too_far 45"]),
        (leaves("buccal"), ["ask comes_out 45"]),
    ],
)
def test_one_screw(rows, expected):
    assert said_of(NAME, *rows) == expected


def test_a_blocked_channel_is_said_once():
    rows = [
        channel(True),
        value("screw_seat_gap", "45", 4.0),
        value("driver_clearance", "45", -1.1),
        value("screw_head_clearance", "45", None, because="The channel is blocked."),
    ]

    assert said_of(NAME, *rows) == ["ask blocked 45"]


def test_a_head_that_does_not_pass_is_shown_with_what_it_lacks():
    (found,) = findings(NAME, {"measured": measured(value("screw_head_clearance", "45", -0.1))})

    assert found.measured == "-0.10 mm"


def test_what_is_not_known_asks_and_an_unknown_side_is_noted():
    rows = [
        value("screw_seat_gap", "45", None, because="The head is not told."),
        value("channel_exit", "45", None, because="No scan tells the sides."),
    ]

    assert said_of(NAME, *rows) == ["ask value_not_known 45", "note value_not_known 45"]


def test_nothing_measured_says_nothing():
    assert said_of(NAME) == []
