"""On which days does a house work, and why can a patient not come?"""

from datetime import UTC, date, datetime, timedelta

import holidays
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from casework.schedule import rules
from casework.schedule.rules import Calendar, Missing, Preparation

BERLIN = Calendar(party="Bench Four", country="DE", region="BE")
NOW = datetime(2026, 4, 1, 8, 0, tzinfo=UTC)


def test_d06_working_days_pass_over_the_holiday_and_the_weekend():
    """1 May is a public holiday in Germany (holidays library; Berlin)."""
    assert BERLIN.add_working_days(date(2026, 4, 30), 5) == date(2026, 5, 8)
    assert BERLIN.add_working_days(date(2026, 5, 2), 1) == date(2026, 5, 4)


def test_d06_promises_on_the_holiday_and_the_sunday_are_refused():
    today = date(2026, 4, 13)

    for day in (date(2026, 5, 1), date(2026, 5, 3)):
        said = rules.objections_to_promise(day, today=today, calendar=BERLIN)
        assert "Promise 2026-04-30 or 2026-05-04" in said[0]
    assert "does not work on 2026-05-03 (weekend)" in said[0]


def test_promise_is_a_day_to_come():
    today = date(2026, 4, 13)

    assert rules.objections_to_promise(date(2026, 4, 14), today=today, calendar=BERLIN) == ()
    assert (
        "is over"
        in rules.objections_to_promise(date(2026, 4, 10), today=today, calendar=BERLIN)[0]
    )
    assert "Name the day" in rules.objections_to_promise(None, today=today, calendar=BERLIN)[0]


@given(st.dates(date(2020, 1, 1), date(2030, 12, 31)), st.integers(1, 60))
def test_working_days_agree_with_numpy_on_the_holidays_library(day, count):
    """Checked against numpy's busday_offset, given the holidays of Berlin by the holidays
    library. For a day off numpy rolls to the working day before, then counts.
    """
    off = list(holidays.country_holidays("DE", subdiv="BE", years=range(2019, 2033)))

    expected = np.busday_offset(day, count, roll="backward", holidays=off)

    assert BERLIN.add_working_days(day, count) == expected.astype(object)


@given(st.dates(date(2020, 1, 1), date(2030, 12, 31)), st.integers(1, 30))
def test_counting_back_from_a_working_day_returns(day, count):
    start = BERLIN.add_working_days(day, 0)

    assert BERLIN.add_working_days(BERLIN.add_working_days(start, count), -count) == start


@pytest.mark.parametrize(
    ("country", "region", "day"),
    [
        ("DE", "BY", date(2026, 1, 6)),  # Epiphany, Bavaria but not Berlin
        ("FR", "", date(2026, 7, 14)),
        ("US", "", date(2026, 11, 26)),
    ],
)
def test_holidays_are_those_of_the_country_and_region(country, region, day):
    assert Calendar(country=country, region=region).why_closed(day)
    assert not BERLIN.why_closed(day)


def test_weekend_is_that_of_the_country():
    """Friday and Saturday in Saudi Arabia (holidays library)."""
    friday, sunday = date(2026, 4, 17), date(2026, 4, 19)
    riyadh = Calendar(country="SA")

    assert riyadh.why_closed(friday) == "weekend" and riyadh.is_working_day(sunday)


def test_unknown_country_has_weekends_only_and_says_so():
    nowhere = Calendar(country="XX")

    assert not nowhere.knows_holidays and BERLIN.knows_holidays
    assert nowhere.is_working_day(date(2026, 5, 1))
    assert not nowhere.is_working_day(date(2026, 5, 2))


def test_unknown_region_keeps_the_holidays_of_the_country():
    assert Calendar(country="DE", region="ZZ").why_closed(date(2026, 5, 1))


def test_own_closing_days_count():
    calendar = Calendar(closing_days={date(2026, 4, 14): "stocktaking"})

    assert calendar.why_closed(date(2026, 4, 14)) == "stocktaking"
    assert calendar.add_working_days(date(2026, 4, 13), 1) == date(2026, 4, 15)


def test_a_house_that_never_opens_ends_the_search():
    closed = Calendar(
        closing_days={date(2026, 1, 1) + timedelta(days=n): "" for n in range(4000)}
    )

    with pytest.raises(ValueError, match="no such working day"):
        closed.add_working_days(date(2026, 1, 1), 1)
    assert rules.objections_to_promise(
        date(2026, 5, 4), today=date(2026, 4, 1), calendar=closed
    )


def visit(**change):
    told = {
        "kind": "try-in",
        "kinds": ("try-in", "delivery"),
        "starts_at": datetime(2026, 4, 10, 8, 0, tzinfo=UTC),
        "visit_on": date(2026, 4, 10),
        "minutes": 45,
        "now": NOW,
        "reason": "",
        "parts_here": False,
        "expected_on": date(2026, 4, 9),
        "calendar": BERLIN,
        "booked_at": "",
    } | change
    return rules.objections_to_visit(**told)


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"kind": "party"}, "no visit of this case"),
        ({"booked_at": "2026-04-12 09:00"}, "Move that one"),
        ({"now": datetime(2026, 4, 11, tzinfo=UTC)}, "in the past"),
        ({"minutes": 0}, "how long"),
        ({"minutes": 900}, "how long"),
        ({"visit_on": date(2026, 4, 12)}, "closed on 2026-04-12 (weekend)"),
        ({"expected_on": date(2026, 4, 14)}, "before the arrival"),
        ({"expected_on": None}, "Nobody has said yet"),
    ],
)
def test_visits_that_would_be_for_nothing_are_refused(change, said):
    assert said in " ".join(visit(**change))


def test_visit_after_the_arrival_is_booked():
    assert visit() == ()


def test_a_reason_opens_closed_days_and_early_visits_but_not_the_past():
    assert visit(expected_on=date(2026, 4, 14), reason="Patient flies out.") == ()
    assert visit(now=datetime(2026, 4, 11, tzinfo=UTC), reason="Patient flies out.")


def test_d07_try_in_before_the_arrival_is_said():
    early = rules.before_parts("try-in", date(2026, 4, 10), False, date(2026, 4, 14))

    assert "2026-04-10 is before the arrival of the parts on 2026-04-14" in early
    assert rules.before_parts("try-in", date(2026, 4, 10), False, date(2026, 4, 9)) == ""
    assert rules.before_parts("try-in", date(2026, 4, 10), True, date(2026, 4, 14)) == ""
    assert rules.before_parts("1 week", date(2026, 4, 10), False, None) == ""


READY = Preparation(
    kind="try-in",
    visit_on=date(2026, 4, 10),
    minutes=45,
    tools_ready=True,
    parts_planned=True,
    expected_on=date(2026, 4, 9),
)


def test_ready_means_parts_tools_screws_and_time():
    assert rules.readiness(READY) == ()


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"parts_planned": False}, "not made yet"),
        (
            {"missing": (Missing("bridge", ("45", "46", "47"), "on the way"),)},
            "bridge (ISO 47, 46, 45) (on the way, expected 2026-04-09)",
        ),
        ({"screwless_sites": ("47",)}, "No sealed final screw is here for ISO 47"),
        ({"visit_on": None}, "No appointment is booked"),
        ({"minutes": 30}, "takes at least 45"),
        ({"tools_ready": False}, "driver and torque wrench"),
    ],
)
def test_each_thing_missing_is_said(change, said):
    values = {name: getattr(READY, name) for name in READY.__dataclass_fields__} | change

    assert said in " ".join(rules.readiness(Preparation(**values)))


def test_follow_up_visit_needs_only_its_time():
    assert rules.readiness(Preparation(kind="1 week", visit_on=NOW.date(), minutes=20)) == ()
    assert rules.readiness(Preparation(kind="1 week", visit_on=NOW.date(), minutes=10))
