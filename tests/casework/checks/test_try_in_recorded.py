"""Does a try-in only pass where everything that can only be seen in the mouth was seen?"""

import pytest

from casework.stages import guarded_by
from casework.visits.rules import TRY_IN_QUESTIONS
from tests.casework.checks.good import codes, findings, good

NAME = "try_in_recorded"
STOPS = {"seated", "one_screw_test", "screw_and_driver_clear"}


def test_guards():
    assert guarded_by(NAME) == {"pass_try_in"}


def answered(**changes):
    facts = good()
    facts["try_ins"]["rows"][0] |= changes
    return facts


@pytest.mark.parametrize("question", sorted(TRY_IN_QUESTIONS))
def test_every_question_is_asked(question):
    (found,) = findings(NAME, answered(**{question: ""}))
    assert (found.weight, found.code) == ("stop", "unanswered")

    (found,) = findings(NAME, answered(**{question: "no"}))
    assert (found.weight, found.code) == ("stop" if question in STOPS else "ask", "fails")


def test_what_must_be_seen_is_not_called_not_applicable():
    (found,) = findings(NAME, answered(seated="not applicable", look="not applicable"))

    assert (found.weight, found.code) == ("ask", "not_applicable")


@pytest.mark.parametrize("answer", ["", "not applicable"])
def test_single_work_needs_no_test_with_one_screw(answer):
    facts = answered(one_screw_test=answer)
    facts["order"] |= {"is_splinted": False}

    assert codes(NAME, facts) == []


@pytest.mark.parametrize(
    ("needs", "expected"),
    [(None, ["stop repolish_unanswered"]), (True, ["ask repolish"]), (False, [])],
)
def test_adjusted_work_says_whether_it_is_polished(needs, expected):
    assert codes(NAME, answered(adjustments="contact at 44", needs_repolish=needs)) == expected


def test_an_earlier_try_in_does_not_count():
    facts = good()
    facts["try_ins"]["due_number"] = 2

    assert codes(NAME, facts) == ["stop not_recorded"]
