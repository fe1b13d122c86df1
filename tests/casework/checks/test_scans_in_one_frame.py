"""Is a scan found that shows another jaw, or the same one at another place?

0.05 mm, 0.1° (0.05 mm at 30 mm) and 0.1 mm between shared teeth are chosen by this service.
"""

import pytest

from casework.stages import guarded_by
from tests.casework.checks.good import said_of
from tests.casework.checks.measures import value

NAME = "scans_in_one_frame"
FILE = "file 2"


def share(kind, **more):
    return value("frame_share", FILE, 0.9, "", kind=kind, sentence="So it is.", **more)


def facing(kind):
    return value("jaws_facing_share", "jaws", 0.3, "", kind=kind, sentence="So it is.")


def shift(amount, doubt=0.002):
    return value("frame_shift", FILE, amount, doubt=doubt)


def test_guards():
    assert guarded_by(NAME) == {"send_scans", "send_order"}


@pytest.mark.parametrize(
    ("rows", "expected"),
    [
        ([share("in place"), shift(0.01), value("frame_turn", FILE, 0.01, "deg")], []),
        ([share("moved"), shift(0.04)], []),
        ([share("moved"), shift(0.06)], [f"ask shifted {FILE}"]),
        ([shift(0.051)], [f"ask within_doubt {FILE}"]),
        ([value("frame_turn", FILE, 0.2, "deg")], [f"ask turned {FILE}"]),
        ([shift(0.5), value("frame_turn", FILE, 2, "deg")], [f"ask shifted {FILE}"]),
        ([value("frame_residual", FILE, 100, "µm")], []),
        ([value("frame_residual", FILE, 120, "µm")], [f"ask differ {FILE}"]),
        ([share("mirrored")], [f"stop mirrored {FILE}"]),
        ([share("in place", is_turned_over=True)], [f"stop inside_out {FILE}"]),
        ([share("scaled")], [f"stop scaled {FILE}"]),
        ([share("unlike")], [f"stop another {FILE}"]),
        ([facing("facing")], []),
        ([facing("running into each other")], ["ask jaws_collide jaws"]),
        ([facing("in another frame")], ["ask jaws_apart jaws"]),
    ],
)
def test_two_scans(rows, expected):
    assert said_of(NAME, *rows) == expected


def test_what_another_jaw_leaves_unknown_is_said_once():
    unknown = [
        value(name, FILE, None, because="So it is.") for name in ("frame_shift", "frame_turn")
    ]

    assert said_of(NAME, share("unlike"), *unknown) == [f"stop another {FILE}"]


def test_what_is_not_known_asks():
    unknown = value("frame_shift", FILE, None, because="Nothing is shared.")

    assert said_of(NAME, unknown) == [f"ask value_not_known {FILE}"]


def test_nothing_measured_says_nothing():
    assert said_of(NAME) == []
