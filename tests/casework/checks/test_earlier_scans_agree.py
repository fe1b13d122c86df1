"""Is another patient's scan found out by its teeth?

0.1 mm between shared teeth is chosen by this service.
"""

import pytest

from casework.stages import guarded_by
from tests.casework.checks.good import said_of
from tests.casework.checks.measures import value

NAME = "earlier_scans_agree"
FILE = "file 9"


def share(kind):
    return value("earlier_scan_share", FILE, 0.9, "", kind=kind, sentence="So it is.")


def left(amount):
    return value("earlier_scan_residual", FILE, amount, "µm")


def test_guards():
    assert guarded_by(NAME) == {"send_scans", "send_order"}


@pytest.mark.parametrize(
    ("rows", "expected"),
    [
        ([share("moved"), left(60)], []),  # every scan has a frame of its own
        ([share("in place"), left(100)], []),
        ([share("moved"), left(110)], [f"ask differ {FILE}"]),
        ([share("unlike")], [f"stop another {FILE}"]),
        ([share("mirrored"), left(10)], [f"stop mirrored {FILE}"]),
        ([share("scaled"), left(10)], [f"stop scaled {FILE}"]),
        (
            [share("unlike"), value("earlier_scan_residual", FILE, None, "µm", because="No.")],
            [f"stop another {FILE}"],
        ),
    ],
)
def test_an_earlier_scan(rows, expected):
    assert said_of(NAME, *rows) == expected


def test_without_an_earlier_scan_nothing_is_said():
    assert said_of(NAME) == []
