"""Is it always said whose turn it is, and for what?"""

from datetime import date

import pytest

from casework.boards.rules import TURN_LABELS, earliest, turn_of, visit_kind
from casework.stages import FINAL, HELD_BY, MOVES, Handing, Side, Stage

# Written by hand from the trade's table of stages: who holds it, and a word of what for.
AT_STAGE = {
    "planning": ("practice", "jaw"),
    "scan capture": ("practice", "scans"),
    "scan processing": ("scan centre", "clean"),
    "design": ("laboratory", "design"),
    "design approval": ("practice", "approve"),
    "fabrication": ("laboratory", "dispatch"),
    "milling": ("milling centre", "return"),
    "try-in": ("practice", "try"),
    "delivery": ("practice", "deliver"),
    "recall": ("practice", "follow-up"),
}


@pytest.mark.parametrize(("stage", "said"), AT_STAGE.items(), ids=AT_STAGE.keys())
def test_turn_is_with_who_holds_the_stage(stage, said):
    turn = turn_of(stage)

    assert turn.side == said[0]
    assert turn.sentence.startswith(f"With the {said[0]}: ") and said[1] in turn.sentence


def test_every_stage_that_is_held_is_in_the_table():
    assert set(AT_STAGE) == {str(stage) for stage in Stage if HELD_BY[stage]}


@pytest.mark.parametrize(
    "move", [move for move in MOVES if move.handoff == Handing.EXPLICIT], ids=lambda m: m.name
)
def test_offer_turns_to_its_receiver_to_accept_or_count(move):
    turn = turn_of(move.source, offered_move=move.name, offered_to=move.to_side)

    assert turn.side == move.to_side and turn.section == "answer"
    assert "accept or return" in turn.sentence or "count" in turn.sentence


def test_order_offered_reads_as_people_say_it():
    turn = turn_of("scan capture", offered_move="send_order", offered_to="laboratory")

    assert turn.sentence == "With the laboratory: accept or return the order."


def test_hold_names_the_day_to_look_again():
    turn = turn_of("design", is_on_hold=True, hold_until=date(2026, 4, 3))

    assert turn.side == Side.LABORATORY and turn.name == "look_again"
    assert "on hold; look again on 3 April 2026" in turn.sentence


def test_asked_cancellation_waits_for_the_laboratory():
    turn = turn_of("try-in", cancel_asked=True, is_on_hold=True)

    assert (turn.side, turn.name) == (Side.LABORATORY, "acknowledge")


@pytest.mark.parametrize("stage", sorted(FINAL))
def test_nothing_is_left_to_do_at_the_end(stage):
    turn = turn_of(stage, is_on_hold=True, cancel_asked=True)

    assert turn.side is None and str(stage) in turn.sentence


def test_wrong_patient_is_nobodys_turn():
    turn = turn_of("design", wrong_patient=True)

    assert turn.side is None and "wrong patient" in turn.sentence


def test_every_turn_has_a_label_short_enough_for_a_column():
    turns = {turn_of(stage).name for stage in Stage if stage not in FINAL}

    assert turns <= set(TURN_LABELS)
    assert all(0 < len(label) <= 40 for label in TURN_LABELS.values())


def test_earliest_day_leaves_out_the_unknown():
    assert earliest(None, date(2026, 5, 1), date(2026, 4, 1)) == date(2026, 4, 1)
    assert earliest(None, None) is None


@pytest.mark.parametrize(
    ("name", "kind"),
    [("try-in", "try-in"), ("delivery", "delivery"), ("6 months", "recall"), ("", "")],
)
def test_every_follow_up_is_a_recall(name, kind):
    assert visit_kind(name) == kind
