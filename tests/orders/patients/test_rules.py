"""Do age bands, texts and erasure days come out as they must?"""

from datetime import date

import pytest

from orders.patients.rules import (
    age_band,
    may_erase_from,
    objections_to_birth_date,
    searchable,
)


@pytest.mark.parametrize(
    "birth, on, band",
    [
        (date(1968, 4, 2), date(2026, 4, 1), "50-59"),
        (date(1966, 4, 2), date(2026, 4, 1), "50-59"),
        (date(1966, 4, 1), date(2026, 4, 1), "60-69"),
        (date(2020, 1, 1), date(2026, 4, 1), "0-9"),
        (date(1936, 4, 1), date(2026, 4, 1), "90+"),
        (date(1920, 4, 1), date(2026, 4, 1), "90+"),
        (None, date(2026, 4, 1), ""),
    ],
)
def test_age_band_is_ten_years_wide_on_the_day(birth, on, band):
    assert age_band(birth, on) == band


def test_e10_birth_date_in_the_future_is_refused():
    (sentence,) = objections_to_birth_date(date(2031, 1, 1), date(2026, 4, 1))

    assert "future" in sentence
    assert objections_to_birth_date(date(2026, 4, 1), date(2026, 4, 1)) == ()


def test_e08_apostrophes_compare_alike():
    assert searchable("O\u2019Brien") == searchable("o'brien")
    assert searchable("M\u00fcller") == searchable("MULLER")


def test_records_of_an_adult_are_kept_from_the_last_entry():
    first = may_erase_from(date(2026, 2, 28), date(1968, 4, 2), 15)

    assert first.day == date(2041, 2, 28)
    assert "15 years after the last entry" in first.reason


def test_records_of_a_minor_are_kept_from_majority():
    first = may_erase_from(date(2026, 2, 28), date(2015, 7, 1), 10)

    assert first.day == date(2043, 7, 1)
    assert "minor" in first.reason


def test_leap_day_counts_to_the_28th():
    assert may_erase_from(date(2024, 2, 29), None, 15).day == date(2039, 2, 28)
