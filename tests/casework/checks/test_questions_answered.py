"""Does an open question ask before somebody decides it alone?"""

from casework.stages import guarded_by
from tests.casework.checks.good import codes, good

NAME = "questions_answered"


def test_guards():
    assert guarded_by(NAME) == {"submit_design", "approve_design"}


def test_open_question_asks():
    question = {"number": 3, "text": "Shade of 44?", "to_side": "practice", "is_open": True}

    assert codes(NAME, good(questions=[question])) == ["ask open question 3"]


def test_no_question_passes():
    assert codes(NAME, good(questions=[])) == []
