"""Whom may a side ask, and how may it be answered?"""

import pytest

from casework.questions import rules
from casework.stages import Side

# Written by hand from who works with whom: a miller knows the laboratory alone.
MAY_ASK = {
    ("practice", "laboratory"),
    ("practice", "scan centre"),
    ("practice", "placing practice"),
    ("laboratory", "practice"),
    ("laboratory", "milling centre"),
    ("scan centre", "practice"),
    ("milling centre", "laboratory"),
    ("placing practice", "practice"),
}
SIDES = [*(str(side) for side in Side), "placing practice"]


@pytest.mark.parametrize("side", SIDES)
@pytest.mark.parametrize("to_side", SIDES)
def test_every_pair_of_sides(side, to_side):
    found = rules.objections_to_question(
        text="Which shade?", side=side, to_side=to_side, has_seen=True
    )

    assert (found == ()) == ((side, to_side) in MAY_ASK)


def test_question_has_words_and_a_reader():
    told = {"side": "laboratory", "to_side": "practice"}

    assert rules.objections_to_question(text=" ", has_seen=True, **told)
    assert rules.objections_to_question(text="x" * 4001, has_seen=True, **told)
    assert "does not see" in rules.objections_to_question(text="x", has_seen=False, **told)[0]


def test_pictures_are_a_few():
    assert rules.objections_to_pictures(3) == ()
    assert "At most 3 pictures" in rules.objections_to_pictures(4)[0]


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"is_open": False}, "answered already"),
        ({"how": "by nodding"}, "written or call noted"),
        ({"text": ""}, "Type the answer"),
        ({"text": "", "how": "call noted"}, "said in the call"),
        ({"text": "x" * 4001}, "4000"),
    ],
)
def test_answers_that_cannot_be(change, said):
    told = {"text": "A2.", "how": "written", "is_open": True}

    assert rules.objections_to_answer(**told) == ()
    assert said in rules.objections_to_answer(**told | change)[0]
