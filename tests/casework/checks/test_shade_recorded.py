"""Is a shade found that was taken in the wrong light, dry, or too soon after whitening?

5500 to 6500 K and 14 days: teaching pages on shade selection.
"""

from datetime import timedelta

import pytest

from casework.stages import guarded_by
from tests.casework.checks.good import SCANNED, codes, findings, good

NAME = "shade_recorded"


def test_guards():
    assert guarded_by(NAME) == {"send_order"}


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        ({"body": ""}, ["stop zone_missing_body"]),
        ({"cervical": ""}, ["ask zone_missing cervical"]),
        ({"incisal": ""}, ["ask zone_missing incisal"]),
        ({"light": "", "light_k": None}, ["stop no_light"]),
        ({"light_k": 6500}, []),
        ({"light_k": 6501}, ["ask odd_light"]),
        ({"light_k": 5499}, ["ask odd_light"]),
        ({"light_k": None}, ["ask light_not_known"]),
        ({"light_k": None, "light": "daylight"}, ["note daylight"]),
        ({"taken_before_drying": None}, ["ask drying_not_said"]),
        ({"taken_before_drying": False}, ["ask taken_dry"]),
        ({"whitening_ended_on": SCANNED - timedelta(days=14)}, []),
        ({"whitening_ended_on": SCANNED - timedelta(days=13)}, ["ask whitened"]),
    ],
    ids=lambda value: str(value)[:60],
)
def test_shade(changes, expected):
    facts = good()
    facts["shade"] |= changes

    assert codes(NAME, facts) == expected


def test_range_of_the_light_is_shown():
    facts = good()
    facts["shade"]["light_k"] = 3000

    (found,) = findings(NAME, facts)
    assert (found.measured, found.limit) == ("3000 K", "5500 K to 6500 K")


@pytest.mark.parametrize("state", ["waiting", "refused"])
def test_photograph_that_cannot_be_seen_is_none(state):
    facts = good()
    facts["files"][6]["state"] = state

    assert codes(NAME, facts) == ["ask no_photograph"]


def test_no_shade_stops():
    assert codes(NAME, good(shade=None)) == ["stop not_recorded"]


@pytest.mark.parametrize(
    ("family", "surface", "expected"),
    [
        ("titanium", "polished", []),
        ("metal", "veneered", ["stop not_recorded"]),
        ("zirconia", "glazed", ["stop not_recorded"]),
    ],
)
def test_metal_alone_needs_no_shade(family, surface, expected):
    facts = good(shade=None)
    facts["prescription"] |= {"material_family": family, "surface": surface}

    assert codes(NAME, facts) == expected


def test_without_a_prescription_a_shade_is_needed():
    assert codes(NAME, good(shade=None, prescription=None)) == ["stop not_recorded"]
