"""Are scans found that cannot show the scan bodies and implants they are said to show?"""

from datetime import date

import pytest

from casework.stages import guarded_by
from tests.casework.checks.good import codes, good, scan_body

NAME = "scan_dates_agree"
NEXT_DAY = date(2026, 5, 29)


def test_guards():
    assert guarded_by(NAME) == {"send_scans", "send_order"}


def at(place, day):
    facts = good()
    facts["files"][place]["taken_on"] = day
    return facts


@pytest.mark.parametrize(
    ("place", "day", "expected"),
    [
        (0, NEXT_DAY, ["note several_days"]),
        (
            0,
            date(2026, 5, 27),
            [
                "stop before_scan_body file 1",
                "stop before_scan_body file 1",
                "note several_days",
            ],
        ),
        (0, None, ["ask day_not_known file 1"]),
        (1, None, ["ask day_not_known file 2"]),
        (2, None, []),
        (1, date(2026, 5, 27), ["note several_days"]),
        (1, date(2026, 1, 12), ["note several_days"]),
        (2, date(2020, 1, 1), ["note several_days"]),
        (0, date(2026, 5, 30), ["stop after_arrival file 1", "note several_days"]),
    ],
)
def test_day_of_a_scan(place, day, expected):
    assert codes(NAME, at(place, day)) == expected


def test_mucosa_scanned_before_the_implant_stops():
    assert "stop before_implant file 2" in codes(NAME, at(1, date(2026, 1, 11)))


def test_only_the_sites_a_file_shows_are_compared():
    facts = good(scan_bodies=[scan_body("45"), scan_body("47", placed_on=NEXT_DAY)])
    facts["files"][0]["sites"] = ["45"]

    assert codes(NAME, facts) == []


def test_a_file_that_names_no_site_shows_all():
    facts = good(scan_bodies=[scan_body("45"), scan_body("47", placed_on=NEXT_DAY)])
    facts["files"][0]["sites"] = []

    assert codes(NAME, facts) == ["stop before_scan_body file 1"]
