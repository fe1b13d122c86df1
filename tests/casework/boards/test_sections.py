"""Does every member land on the board that fits, and open no other?"""

import pytest

from casework.boards.rules import ACKNOWLEDGE, ANSWER_TO, LOOK_AGAIN, WORK_AT, turn_of
from casework.boards.sections import SECTIONS, boards_of, first_page, has_board
from casework.stages import MOVES, Handing, Side

# Written by hand: who lands where.
FIRST = [
    ("practice", {"dentist"}, "board_decide"),
    ("practice", {"dentist", "administrator"}, "board_decide"),
    ("practice", {"surgeon"}, "board_decide"),
    ("practice", {"assistant"}, "board_decide"),
    ("practice", {"front desk"}, "board_front_desk"),
    ("practice", {"coordinator"}, "board_load"),
    ("practice", {"administrator"}, "members"),
    ("placing practice", {"surgeon"}, "cases"),
    ("laboratory", {"technician"}, "board_make"),
    ("laboratory", {"technician", "coordinator"}, "board_make"),
    ("laboratory", {"coordinator"}, "board_load"),
    ("laboratory", {"coordinator", "administrator"}, "board_load"),
    ("scan centre", {"scan processor"}, "board_waiting"),
    ("milling centre", {"miller"}, "board_waiting"),
]


@pytest.mark.parametrize(("kind", "roles", "page"), FIRST)
def test_member_lands_on_the_board_that_fits(kind, roles, page):
    assert first_page(kind, roles) == page


def test_boards_are_closed_to_the_other_side():
    assert not has_board("board_decide", "laboratory", {"technician"})
    assert not has_board("board_make", "practice", {"coordinator"})
    assert not has_board("board_front_desk", "laboratory", {"coordinator"})
    assert [name for name, _label in boards_of("practice", {"front desk"})] == [
        "board_front_desk"
    ]


BOARD_OF = {
    Side.PRACTICE: "board_decide",
    Side.LABORATORY: "board_make",
    Side.SCAN_CENTRE: "board_waiting",
    Side.MILLING_CENTRE: "board_waiting",
}


def test_every_turn_shows_in_a_section_of_its_sides_board():
    turns = [turn_of(stage) for stage in WORK_AT]
    turns += [turn_of(stage, is_on_hold=True) for stage in WORK_AT]
    turns += [
        turn_of(move.source, offered_move=move.name, offered_to=move.to_side)
        for move in MOVES
        if move.handoff == Handing.EXPLICIT
    ]
    turns.append(turn_of("fabrication", cancel_asked=True))

    for turn in turns:
        names = {section.name for section in SECTIONS[BOARD_OF[turn.side]]}
        assert turn.section in names, turn


def test_every_explicit_handoff_has_words_of_its_own():
    explicit = {move.name for move in MOVES if move.handoff == Handing.EXPLICIT}

    assert set(ANSWER_TO) == explicit
    assert ACKNOWLEDGE.section == "answer" and LOOK_AGAIN.section == "hold"


def test_every_section_says_what_to_do_when_it_is_empty():
    for sections in SECTIONS.values():
        assert all(len(section.empty) > 20 for section in sections)
