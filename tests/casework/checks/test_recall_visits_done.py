"""Is a visit found that is missing, or that did not answer what it is for?

One week, 6 and 12 months: Vanlioglu B et al. Int J Oral Maxillofac Implants
2013;28:1300-1304; 48 hours: common practice, no source.
"""

from datetime import date

import pytest

from casework.stages import guarded_by
from tests.casework.checks.good import at_chair, codes, good

NAME = "recall_visits_done"
NOT_DONE = {"done_on": None, "outcome": ""}


def test_guards():
    assert guarded_by(NAME) == {"close"}


@pytest.mark.parametrize(
    ("place", "changes", "today", "expected"),
    [
        (1, NOT_DONE, date(2026, 6, 8), ["ask missed 1 week"]),
        (1, NOT_DONE, date(2026, 6, 7), []),
        (3, NOT_DONE, date(2027, 5, 31), ["stop first_year_open 12 months"]),
        (3, NOT_DONE, date(2027, 6, 2), ["stop first_year_open 12 months"]),
        (0, {"bite": ""}, date(2027, 6, 2), ["ask no_bite 48 hours"]),
        (2, {"screws_tight": ""}, date(2027, 6, 2), ["ask not_answered 6 months"]),
        (3, {"chipping": ""}, date(2027, 6, 2), ["ask not_answered 12 months"]),
    ],
    ids=lambda value: str(value)[:40],
)
def test_visit(place, changes, today, expected):
    facts = at_chair(today=today)
    facts["follow_ups"][place] |= changes

    assert codes(NAME, facts) == expected


@pytest.mark.parametrize("quantity", ["bone_level_mm", "probing_mm", "bleeding", "mobility"])
def test_reading_left_out_at_twelve_months_asks(quantity):
    facts = at_chair()
    facts["readings"] = [
        row
        for row in facts["readings"]
        if row["quantity"] != quantity or row["measured_on"] != date(2027, 6, 1)
    ]

    assert codes(NAME, facts) == ["ask not_answered 12 months"]


def test_no_plan_stops():
    assert codes(NAME, good(follow_ups=[])) == ["stop no_plan"]


def test_a_plan_without_the_first_year_stops():
    facts = at_chair()
    facts["follow_ups"] = facts["follow_ups"][:2]

    assert codes(NAME, facts) == ["stop no_first_year"]
