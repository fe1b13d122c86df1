"""Are implants found that cannot be so, or are most likely mistyped?

The usual dimensions are common practice, no source.
"""

from datetime import date
from decimal import Decimal

import pytest

from casework.stages import guarded_by
from tests.casework.checks.good import codes, findings, good, implant

NAME = "implants_plausible"
UNLISTED = {"catalogue": None}


def test_guards():
    assert guarded_by(NAME) == {"ready_to_scan", "send_order"}


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        ({"length_mm": Decimal("20")}, []),
        ({"length_mm": Decimal("20.1")}, ["ask implausible 45"]),
        ({"length_mm": Decimal("4")}, []),
        ({"body_diameter_mm": Decimal("2.4")}, ["ask implausible 45"]),
        ({"body_diameter_mm": Decimal("2.5")}, []),
        (
            {"platform_diameter_mm": Decimal("7.1")},
            ["ask implausible 45", "ask platform_wider 45"],
        ),
        ({"platform_diameter_mm": Decimal("6.6")}, []),
        ({"platform_diameter_mm": Decimal("6.7")}, ["ask platform_wider 45"]),
    ],
    ids=lambda value: str(value)[:50],
)
def test_dimensions_between_usual_figures(changes, expected):
    facts = good(implants=[implant("45", **UNLISTED, **changes), implant("47")])

    assert codes(NAME, facts) == expected


def test_limit_and_source_stand_beside_the_figure():
    changed = implant("45", **UNLISTED, length_mm=Decimal("100"))

    (found,) = findings(NAME, good(implants=[changed]))
    assert (found.measured, found.limit) == ("100 mm", "4 to 20 mm")
    assert found.source == "common practice, no source"


@pytest.mark.parametrize("problem", ["placed_in_future", "placed_before_birth"])
def test_impossible_day_stops(problem):
    changed = implant("45", day_problem=problem, placed_on=date(2062, 1, 1))

    (found,) = findings(NAME, good(implants=[changed]))
    assert (found.weight, found.code) == ("stop", problem)
    assert found.values["day"] == "2062-01-01"


def test_tooth_at_the_site_stops():
    facts = good()
    facts["dentition"]["present"].append("47")

    assert codes(NAME, facts) == ["stop tooth_standing 47"]


def test_two_implants_at_one_site_stop():
    facts = good(implants=[implant("45"), implant("45")])

    assert "stop site_twice 45" in codes(NAME, facts)


def test_other_connection_than_the_catalogue_lists_stops():
    facts = good(implants=[implant("45", connection="outer six"), implant("47")])

    assert codes(NAME, facts) == ["stop not_as_listed 45"]


def test_other_length_than_the_catalogue_lists_asks():
    facts = good(implants=[implant("45", length_mm=Decimal("11.5")), implant("47")])

    assert codes(NAME, facts) == ["ask other_dimension 45"]


def test_unknown_teeth_never_count_as_none_standing():
    assert codes(NAME, good(dentition=None)) == ["ask teeth_unknown"]
