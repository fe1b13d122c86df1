"""Is a screw found without lot, torque or second tightening, or at another value than its own?

Ten minutes: J Oral Implantol 2002;28(2):67.
"""

from datetime import UTC, datetime
from decimal import Decimal

import pytest

from casework.stages import guarded_by
from tests.casework.checks.good import codes, findings, good, screw

NAME = "screws_tightened"


def test_guards():
    assert guarded_by(NAME) == {"deliver"}


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        ({"lot": ""}, ["stop no_lot 45"]),
        ({"lot": "P99"}, ["ask other_lot 45"]),
        ({"component_kind": "try-in screw"}, ["stop wrong_part 45"]),
        ({"was_new": False}, ["ask used_screw 45"]),
        ({"torque_ncm": None, "tightened_at": None}, ["stop no_torque 45"]),
        ({"second_torque_ncm": None, "second_at": None}, ["stop not_retightened 45"]),
        ({"torque_ncm": Decimal("24.9")}, ["ask other_torque 45"]),
        ({"second_torque_ncm": Decimal("30")}, ["ask other_torque 45"]),
        ({"torque_told_ncm": None}, ["ask torque_not_told 45"]),
        ({"second_at": datetime(2026, 6, 1, 9, 9, 59, tzinfo=UTC)}, ["ask too_soon 45"]),
        ({"second_at": None}, ["ask times_not_known 45"]),
    ],
    ids=lambda value: str(value)[:50],
)
def test_screw(changes, expected):
    facts = good(screws=[screw("45", **changes), screw("47")])

    assert codes(NAME, facts) == expected


def test_wait_is_shown_with_its_source():
    soon = screw("45", second_at=datetime(2026, 6, 1, 9, 5, tzinfo=UTC))

    (found,) = findings(NAME, good(screws=[soon, screw("47")]))
    assert (found.measured, found.limit) == ("5 min", "10 min")
    assert "2002;28(2):67" in found.source


def test_site_without_screw_stops():
    assert codes(NAME, good(screws=[screw("45")])) == ["stop not_recorded 47"]


def test_lots_are_not_compared_where_none_was_sent_with_one():
    facts = good(parts=[], screws=[screw("45", lot="X"), screw("47", lot="Y")])

    assert codes(NAME, facts) == []
