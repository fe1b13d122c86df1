"""Are implants found that diverge too much for one piece?

Removable to 16° between two implants, not at 20°: BMC Oral Health 2023, s12903-023-02958-4.
"""

import pytest

from casework.stages import guarded_by
from tests.casework.checks.good import findings, said_of
from tests.casework.checks.measures import measured, value

NAME = "implants_parallel_enough"


def divergence(amount, doubt=0.2, pair="47-45"):
    return value("implant_divergence", pair, amount, "deg", doubt, step="relations")


def test_guards():
    assert guarded_by(NAME) == {"send_order"}


@pytest.mark.parametrize(
    ("row", "expected"),
    [
        (divergence(15.7), []),
        (divergence(16, doubt=0), []),
        (divergence(16.1), ["ask within_doubt 47-45"]),
        (divergence(16.3), ["ask diverge 47-45"]),
        (divergence(30, pair="35-45"), []),  # nothing joins them
    ],
)
def test_one_pair(row, expected):
    assert said_of(NAME, row) == expected


def test_figures_stand_beside_the_finding():
    (found,) = findings(NAME, {"measured": measured(divergence(20.04))})

    assert (found.measured, found.limit) == ("20 °", "16 °")
    assert "2023" in found.source


def test_nothing_measured_says_nothing():
    assert said_of(NAME) == []
