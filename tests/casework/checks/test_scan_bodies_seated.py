"""Is a seat verified only by a radiograph of that site and day, or a clinician's word?"""

from datetime import date

import pytest

from casework.stages import guarded_by
from tests.casework.checks.good import SCANNED, SITES, codes, file, findings, good, scan_body

NAME = "scan_bodies_seated"


def test_guards():
    assert guarded_by(NAME) == {"send_scans", "send_order"}


def with_radiograph(**changes):
    facts = good()
    facts["files"][5] |= changes
    facts["scan_bodies"] = [scan_body("45")]
    return facts


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        ({"taken_on": SCANNED}, []),
        ({"sites": ["45"]}, []),
        ({"taken_on": date(2026, 5, 27)}, ["stop too_old 45"]),
        ({"taken_on": None}, ["stop undated 45"]),
        ({"sites": ["47"]}, ["stop other_site 45"]),
        ({"role": "photograph"}, ["stop no_radiograph 45"]),
        ({"state": "refused"}, ["stop unreadable 45"]),
        ({"number": 60}, ["stop replaced 45"]),
    ],
    ids=lambda value: str(value)[:60],
)
def test_radiograph(changes, expected):
    assert codes(NAME, with_radiograph(**changes)) == expected


def test_radiograph_before_the_implant_stops_even_if_the_scan_body_is_misdated():
    facts = with_radiograph(taken_on=date(2026, 1, 11))
    facts["scan_bodies"] = [scan_body("45", placed_on=date(2026, 1, 1))]

    assert codes(NAME, facts) == ["stop before_implant 45"]


def test_one_radiograph_answers_for_both_sites():
    assert codes(NAME, good()) == []


def test_a_clinicians_reason_asks_to_be_confirmed():
    body = scan_body(
        "45", radiograph_number=None, seating_reason="margin in sight", seating_by="Dr. A"
    )

    (found,) = findings(NAME, good(scan_bodies=[body]))
    assert (found.weight, found.code) == ("ask", "by_reason")
    assert found.values == {"by": "Dr. A", "reason": "margin in sight"}


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        ({"seating_reason": "margin in sight"}, "stop nobody_named 45"),
        ({}, "stop not_verified 45"),
    ],
)
def test_nothing_said_stops(changes, expected):
    facts = good(scan_bodies=[scan_body("45", radiograph_number=None, **changes)])

    assert codes(NAME, facts) == [expected]


def test_a_newer_radiograph_that_nobody_chose_does_not_count():
    facts = with_radiograph(number=60)
    facts["files"].append(file(61, "radiograph", sites=SITES))

    assert codes(NAME, facts) == ["stop replaced 45"]
