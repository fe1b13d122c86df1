"""When are follow-up visits due, and which records of a visit cannot be?"""

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal

import pytest
from dateutil.relativedelta import relativedelta
from hypothesis import given
from hypothesis import strategies as st

from casework.visits import rules

DAY = date(2026, 4, 13)
TEN = datetime(2026, 4, 13, 10, 0, tzinfo=UTC)


def test_d08_months_count_from_the_first_date():
    first = date(2026, 1, 31)

    days = [rules.add_months(first, months) for months in (1, 2, 3)]

    assert days == [date(2026, 2, 28), date(2026, 3, 31), date(2026, 4, 30)]


def test_d19_leap_day_and_end_of_august():
    leap = date(2024, 2, 29)

    assert rules.add_months(leap, 12) == date(2025, 2, 28)
    assert rules.add_months(leap, 48) == date(2028, 2, 29)
    assert rules.add_months(date(2026, 8, 31), 6) == date(2027, 2, 28)


@given(st.dates(date(1950, 1, 1), date(2150, 12, 31)), st.integers(0, 600))
def test_months_agree_with_python_dateutil(day, months):
    """Checked against python-dateutil's relativedelta, added to the first date."""
    assert rules.add_months(day, months) == day + relativedelta(months=months)


def test_plan_of_an_open_case_ends_with_the_first_year():
    plan = rules.follow_up_plan(date(2026, 8, 31))

    assert [(visit.name, visit.on) for visit in plan] == [
        ("48 hours", date(2026, 9, 2)),
        ("1 week", date(2026, 9, 7)),
        ("6 months", date(2027, 2, 28)),
        ("12 months", date(2027, 8, 31)),
    ]


def test_yearly_visits_are_beyond_the_case():
    assert [visit.on for visit in rules.yearly_visits(date(2024, 2, 29), 3)] == [
        date(2026, 2, 28),
        date(2027, 2, 28),
        date(2028, 2, 29),
    ]


def test_a_practice_may_change_the_steps_but_not_the_first_year():
    assert rules.objections_to_template([(3, "days"), (3, "months"), (12, "months")]) == ()
    assert "12 months" in rules.objections_to_template([(6, "months")])[0]
    assert "first year" in rules.objections_to_template([(13, "months"), (12, "months")])[0]
    assert "twice" in rules.objections_to_template([(12, "months")] * 2)[0]
    assert "counted in" in rules.objections_to_template([(2, "years"), (12, "months")])[0]


def screw(**change):
    told = {
        "site": "45",
        "sites": ("45", "47"),
        "component_kind": "retaining screw",
        "torque_ncm": Decimal(25),
        "tightened_at": TEN,
        "second_torque_ncm": Decimal(25),
        "second_at": TEN + timedelta(minutes=10),
        "now": TEN + timedelta(hours=1),
    } | change
    return rules.objections_to_screw(**told)


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"site": "46"}, "no implant"),
        ({"component_kind": "try-in screw"}, "not the retaining screw"),
        ({"second_at": TEN - timedelta(minutes=1)}, "after the first"),
        ({"second_at": TEN}, "after the first"),
        ({"torque_ncm": None, "tightened_at": None}, "tightened once before"),
        ({"tightened_at": None}, "both the torque and the time of the first"),
        ({"second_torque_ncm": None}, "both the torque and the time of the second"),
        ({"torque_ncm": Decimal(250)}, "decimal point"),
        ({"second_at": TEN + timedelta(hours=2)}, "future"),
    ],
)
def test_impossible_tightenings_are_refused(change, said):
    assert said in " ".join(screw(**change))


def test_two_tightenings_ten_minutes_apart_are_fine():
    assert screw() == ()
    assert screw(second_torque_ncm=None, second_at=None) == ()


def doubts(**change):
    told = {
        "torque_told_ncm": Decimal(25),
        "torque_ncm": Decimal(25),
        "tightened_at": TEN,
        "second_torque_ncm": Decimal(25),
        "second_at": TEN + timedelta(minutes=10),
        "lot": "S45",
        "lots_sent": ["S45"],
    } | change
    return rules.doubts_about_screw(**told)


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"torque_ncm": Decimal(35)}, "own value is 25"),
        ({"torque_told_ncm": None}, "Read its instructions"),
        ({"torque_ncm": Decimal(51)}, "outside 5 to 50"),
        ({"second_at": None, "second_torque_ncm": None}, "about ten minutes"),
        ({"second_at": TEN + timedelta(minutes=4)}, "Only 4 minutes"),
        ({"lot": "S99"}, "not the one that was sent"),
    ],
)
def test_unusual_screws_are_doubted_but_not_refused(change, said):
    assert said in " ".join(doubts(**change))


def test_screw_of_its_own_torque_is_beyond_doubt():
    assert doubts() == ()


def test_try_in_answered_no_says_what_was_found():
    def told(**answers):
        return rules.objections_to_try_in(on=DAY, today=DAY, answers=answers, said="")

    assert told(seated="yes", one_screw_test="not applicable") == ()
    assert "Everything seats fully" in told(seated="no")[0]
    assert "answer yes, no or" in told(seated="maybe")[0]
    assert "not asked" in told(colour="yes")[0]


def test_visits_do_not_lie_in_the_future():
    later = DAY + timedelta(days=1)

    assert rules.objections_to_try_in(on=later, today=DAY, answers={}, said="")
    assert rules.objections_to_try_in(on=None, today=DAY, answers={}, said="")


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"has_baseline": True}, "leave the reason"),
        ({"excess_checked": True, "excess_checked_how": "floss"}, "no cement is named"),
        ({"cement": "resin", "excess_checked": True}, "Say how excess"),
        ({"on": DAY + timedelta(days=1)}, "to come"),
    ],
)
def test_delivery_that_contradicts_itself_is_refused(change, said):
    told = {
        "on": DAY,
        "today": DAY,
        "has_baseline": False,
        "baseline_reason": "none justified",
        "cement": "",
        "excess_checked": None,
        "excess_checked_how": "",
    }
    assert rules.objections_to_delivery(**told) == ()
    assert said in " ".join(rules.objections_to_delivery(**told | change))


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"outcome": ""}, "what came of the visit"),
        ({"outcome": "complication"}, "say in the note"),
        ({"done_on": DAY - timedelta(days=9)}, "before the delivery"),
        ({"answers": {"bite": "often"}}, "answer yes, no or"),
    ],
)
def test_follow_up_that_cannot_be_is_refused(change, said):
    told = {
        "done_on": DAY,
        "today": DAY,
        "delivered_on": DAY - timedelta(days=2),
        "outcome": "fine",
        "answers": {"bite": "yes"},
        "note": "",
    }
    assert rules.objections_to_follow_up(**told) == ()
    assert said in " ".join(rules.objections_to_follow_up(**told | change))


def test_moment_is_the_clock_of_the_house():
    moment = rules.moment_at(date(2026, 7, 1), 9, 30, "Europe/Berlin")

    assert moment.astimezone(UTC) == datetime(2026, 7, 1, 7, 30, tzinfo=UTC)


def test_time_the_clocks_skip_is_refused():
    """Summer time in Berlin begins on 2026-03-29 at 02:00 (IANA time zone database)."""
    with pytest.raises(rules.NoSuchTime, match="skip 02:30"):
        rules.moment_at(date(2026, 3, 29), 2, 30, "Europe/Berlin")
