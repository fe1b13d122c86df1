"""The stage machine against the agreed moves, written a second time by hand."""

import pytest

from casework.stages import (
    FINAL,
    FIRST,
    HELD_BY,
    MOVES,
    Handing,
    NoSuchMove,
    Stage,
    find_move,
    guarded_by,
    moves_from,
)

# name, from, to, by, handoff, signed, reason. Common practice of the trade, no source.
AGREED = """
ready_to_scan | planning | scan capture | dentist | none | |
back_to_planning | scan capture | planning | assistant, dentist | none | | reason
send_scans | scan capture | scan processing | assistant, dentist | explicit | |
return_scans | scan processing | scan capture | scan processor | explicit | |
send_order | scan capture | design | dentist | explicit | signed |
submit_design | design | design approval | technician | at once | |
approve_design | design approval | fabrication | dentist | at once | signed |
ask_for_changes | design approval | design | dentist | at once | | reason
ask_for_rescan | design | scan capture | dentist, technician | at once | | reason
ask_for_rescan | design approval | scan capture | dentist, technician | at once | | reason
reopen_design | fabrication | design | technician | none | | reason
send_to_milling | fabrication | milling | technician | explicit | |
return_milled | milling | fabrication | miller | explicit | |
dispatch_for_try_in | fabrication | try-in | coordinator, technician | explicit | |
dispatch_for_delivery | fabrication | delivery | coordinator, technician | explicit | |
pass_try_in | try-in | delivery | dentist | none | |
return_to_finish | try-in | fabrication | dentist | explicit | | reason
return_to_finish | delivery | fabrication | dentist | explicit | | reason
return_to_redesign | try-in | design | dentist | explicit | | reason
return_to_redesign | delivery | design | dentist | explicit | | reason
rescan_after_try_in | try-in | scan capture | dentist | none | | reason
rescan_after_try_in | delivery | scan capture | dentist | none | | reason
deliver | delivery | recall | dentist | none | |
close | recall | closed | dentist | none | |
cancel | planning | cancelled | dentist | at once | | reason
cancel | scan capture | cancelled | dentist | at once | | reason
cancel | scan processing | cancelled | dentist | at once | | reason
cancel | design | cancelled | dentist | at once | | reason
cancel | design approval | cancelled | dentist | at once | | reason
cancel | fabrication | cancelled | dentist | at once | | reason
cancel | milling | cancelled | dentist | at once | | reason
cancel | try-in | cancelled | dentist | at once | | reason
cancel | delivery | cancelled | dentist | at once | | reason
cancel | recall | cancelled | dentist | at once | | reason
"""


def as_line(move):
    return (
        move.name,
        str(move.source),
        str(move.target),
        ", ".join(sorted(move.by)),
        str(move.handoff),
        "signed" if move.signed else "",
        "reason" if move.reason else "",
    )


def test_moves_are_the_agreed_ones():
    agreed = [
        tuple(cell.strip() for cell in line.split("|")) for line in AGREED.strip().splitlines()
    ]

    assert sorted(map(as_line, MOVES)) == sorted(agreed)


def test_a_move_is_named_once_out_of_one_stage():
    pairs = [(move.source, move.name) for move in MOVES]

    assert len(pairs) == len(set(pairs))


def test_every_stage_is_reached_from_the_first():
    reached, frontier = {FIRST}, [FIRST]
    while frontier:
        for move in moves_from(frontier.pop()):
            if move.target not in reached:
                reached.add(move.target)
                frontier.append(move.target)

    assert reached == set(Stage)


@pytest.mark.parametrize("stage", Stage)
def test_only_final_stages_have_no_way_out(stage):
    assert bool(moves_from(stage)) == (stage not in FINAL)


@pytest.mark.parametrize("stage", Stage)
def test_every_unlisted_pair_is_refused(stage):
    listed = {move.name for move in moves_from(stage)}
    for name in {move.name for move in MOVES} - listed:
        with pytest.raises(NoSuchMove):
            find_move(stage, name)


def test_a_handoff_to_another_side_is_never_silent_where_the_table_hands_over():
    """Moves that stay on one side, and the two the agreed table leaves without a handoff."""
    silent = {
        (move.name, HELD_BY[move.source], move.to_side)
        for move in MOVES
        if move.handoff == Handing.NONE and HELD_BY[move.source] != move.to_side
    }

    assert {name for name, _from, _to in silent} == {"close"}


def test_what_guards_the_order():
    assert guarded_by("scan_bodies_seated") == {"send_scans", "send_order"}
    assert guarded_by("parts_measured") == {"submit_design", "approve_design"}
    assert guarded_by("manifest_verified") == {
        "send_scans",
        "return_scans",
        "send_order",
        "send_to_milling",
    }
