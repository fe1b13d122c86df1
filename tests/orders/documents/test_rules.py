"""Are papers numbered, and their figures and days written, so that they read one way only?"""

from datetime import UTC, datetime

import pytest

from orders.documents import rules


def test_a_number_names_series_year_and_count():
    assert rules.paper_number("OS", 2026, 12) == "OS-2026-00012"
    assert rules.count_of("OS-2026-00012") == 12
    assert rules.count_of(rules.paper_number("HN", 2026, 123456)) == 123456


@pytest.mark.parametrize("text", ["", "OS-2026-1", "OS-2026-00012\r\n", "../OS-2026-00012"])
def test_a_file_is_named_after_a_number_only(text):
    with pytest.raises(ValueError):
        rules.file_name(text)


@pytest.mark.parametrize(
    ("zone", "year"), [("UTC", 2025), ("Pacific/Auckland", 2026), ("America/New_York", 2025)]
)
def test_the_year_is_that_of_the_practice(zone, year):
    assert rules.local_year(datetime(2025, 12, 31, 20, 0, tzinfo=UTC), zone) == year


@pytest.mark.parametrize(
    ("amount", "shown"),
    [("4.1", "4.10\u00a0mm"), ("10", "10.00\u00a0mm"), ("0.055", "0.06\u00a0mm"), (None, "")],
)
def test_lengths_have_two_decimals_and_their_unit(amount, shown):
    assert rules.millimetres(amount) == shown


def test_torques_have_their_unit():
    assert rules.newton_centimetres("35") == "35.0\u00a0N·cm"


def test_a_day_cannot_be_read_two_ways():
    assert rules.day_in_words("2026-03-04") == "4 Mar 2026"


def test_a_moment_names_its_zone():
    assert rules.moment_in_words("2026-07-14T09:30:00Z", "Europe/Berlin") == (
        "14 Jul 2026, 11:30 (Europe/Berlin)"
    )
