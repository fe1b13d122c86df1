"""Is found what keeps a restoration from seating, or leaves it open at margin or contact?

Cement 20 to 80 µm (abstract read); margin 120 µm (McLean JW, von Fraunhofer JA 1971, from
memory); below the gum 1.0 mm, 1.5 at most (Gehrke P et al. 2019); 10 µm of interference and
0.05 mm at contacts are chosen by this service.
"""

import pytest

from casework.stages import guarded_by
from tests.casework.checks.good import findings, said_of
from tests.casework.checks.measures import measured, value

NAME = "parts_fit"


def test_guards():
    assert guarded_by(NAME) == {"submit_design", "approve_design"}


def contact(amount, doubt=0.0, side="mesial"):
    return value("contact", "45", amount, doubt=doubt, side=side)


def gap(quantity, amount, doubt=0.001, **details):
    return value(quantity, "45", amount, doubt=doubt, step="restoration", **details)


@pytest.mark.parametrize(
    ("row", "expected"),
    [
        (gap("least_gap", 0.02), []),
        (gap("least_gap", -0.008), []),
        (gap("least_gap", -0.0105), ["ask within_doubt 45"]),
        (gap("least_gap", -0.02), ["ask interferes 45"]),
        (gap("marginal_gap", 0.118), []),
        (gap("marginal_gap", 0.122), ["ask open_margin 45"]),
        (gap("marginal_gap", 1.0, reads="at least"), ["ask open_margin 45"]),
        (gap("marginal_gap", 0.1, reads="at least"), ["ask bound_only 45"]),
        (gap("marginal_gap", 0.1, reads="at most"), []),
        (gap("marginal_gap", 0.2, reads="at most"), ["ask bound_only 45"]),
        (gap("cement_gap", 0.02), []),
        (gap("cement_gap", 0.08), []),
        (gap("cement_gap", 0.081), ["note unusual_gap 45"]),
        (gap("cement_gap", 0.019), ["note unusual_gap 45"]),
        (gap("margin_depth", -0.5), []),
        (gap("margin_depth", 0.99), []),
        (gap("margin_depth", 1.1), ["note deep 45"]),
        (gap("margin_depth", 1.49), ["note deep 45"]),
        (gap("margin_depth", 1.6), ["ask too_deep 45"]),
        (gap("margin_depth", 1.5005), ["ask within_doubt 45"]),
        (contact(0.05), []),
        (contact(-0.05), []),
        (contact(0.06), ["ask no_contact 45"]),
        (contact(1.0), ["ask no_contact 45"]),
        (contact(1.1), ["note no_neighbour 45"]),
        (contact(-0.06), ["ask tight_contact 45"]),
        (contact(0.06, doubt=0.02), ["ask within_doubt 45"]),
        (contact(0.02, doubt=0.02), []),
    ],
)
def test_one_gap(row, expected):
    assert said_of(NAME, row) == expected


def test_interference_is_shown_as_the_negative_gap_that_it_is():
    (found,) = findings(NAME, {"measured": measured(gap("least_gap", -0.0312))})

    assert (found.measured, found.limit) == ("-31 µm", "-10 µm")


def test_an_open_contact_names_its_side():
    (found,) = findings(NAME, {"measured": measured(contact(0.2, side="distal"))})

    assert (found.measured, found.limit, found.values["side"]) == (
        "0.20 mm", "0.05 mm", "distal",
    )  # fmt: skip


def test_a_gap_that_is_not_known_asks_and_a_missing_neighbour_is_noted():
    because = "No tooth stands within 2 mm on the distal side."
    end = value("contact", "47", None, because=because, side="distal")
    hidden = value("marginal_gap", "45", None, because="The restoration ends before it.")

    assert said_of(NAME, end) == ["note value_not_known 47"]
    assert said_of(NAME, hidden) == ["ask value_not_known 45"]


def test_nothing_measured_says_nothing():
    assert said_of(NAME) == []
