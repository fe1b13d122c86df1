"""Is a scan body found that is missing, does not fit, is worn or was tightened otherwise?

5 to 15 N·cm where the part has no value of its own: Kim JH et al. J Adv Prosthodont
2020;12:307-315; Diker E et al. Clin Implant Dent Relat Res 2023;25(2):419-425.
"""

from datetime import date
from decimal import Decimal

import pytest

from casework.stages import guarded_by
from tests.casework.checks.good import codes, findings, good, implant, scan_body

NAME = "scan_bodies_placed"


def test_guards():
    assert guarded_by(NAME) == {"send_scans", "send_order"}


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        ({"connection": "outer six"}, ["stop does_not_fit 45"]),
        ({"platform": "wide"}, ["stop does_not_fit 45"]),
        ({"connection": ""}, ["ask fit_not_known 45"]),
        ({"placed_on": date(2026, 1, 12)}, []),
        ({"placed_on": date(2026, 1, 11)}, ["stop before_implant 45"]),
        ({"lot": ""}, ["ask no_lot 45"]),
        ({"use_count": 10}, []),
        ({"use_count": 11}, ["ask used_too_often 45"]),
        ({"use_count": None}, ["ask uses_not_counted 45"]),
        ({"uses_max": None, "use_count": 1}, []),
        ({"uses_max": None, "use_count": 2}, ["ask uses_max_not_known 45"]),
        ({"torque_ncm": Decimal("6")}, ["ask other_torque 45"]),
        ({"torque_ncm": None}, ["ask no_torque 45"]),
        ({"torque_ncm": None, "tightened_how": "driver by hand"}, ["ask by_hand 45"]),
        ({"tightened_how": ""}, ["ask how_not_said 45"]),
        ({"torque_told_ncm": None, "torque_ncm": Decimal("15")}, []),
        ({"torque_told_ncm": None, "torque_ncm": Decimal("15.5")}, ["ask odd_torque 45"]),
        ({"torque_told_ncm": None, "torque_ncm": Decimal("4.9")}, ["ask odd_torque 45"]),
    ],
    ids=lambda value: str(value)[:60],
)
def test_one_scan_body(changes, expected):
    facts = good(scan_bodies=[scan_body("45", **changes), scan_body("47")])

    assert codes(NAME, facts) == expected


def test_own_torque_wins_over_the_default():
    body = scan_body("45", torque_told_ncm=Decimal("20"), torque_ncm=Decimal("15"))

    (found,) = findings(NAME, good(scan_bodies=[body, scan_body("47")]))
    assert (found.measured, found.limit) == ("15 N·cm", "20 N·cm")
    assert "own record" in found.source


def test_sites_and_scan_bodies_must_agree():
    facts = good(scan_bodies=[scan_body("45"), scan_body("46")])

    assert codes(NAME, facts) == ["stop missing 47", "stop not_ordered 46"]


def test_on_an_intermediate_abutment_the_implant_does_not_tell():
    facts = good(scan_bodies=[scan_body("45", connection="cone"), scan_body("47")])
    facts["prescription"]["sites"]["45"]["level"] = "intermediate abutment"

    assert codes(NAME, facts) == ["ask on_abutment 45"]


def test_without_an_implant_the_fit_is_not_known():
    assert codes(NAME, good(implants=[implant("47")])) == ["ask fit_not_known 45"]


def test_nothing_to_judge_stops():
    facts = good(scan_bodies=[], prescription=None)
    facts["order"] |= {"sites": []}

    assert codes(NAME, facts) == ["stop no_sites"]
