"""Whose turn is it on a case, for what, and which board does a member open first?

The turn follows from the stage, the open offer, the hold and an asked cancellation; it is
always said in a sentence: the party's kind, then what that party has to do.
"""

from collections.abc import Iterable
from dataclasses import dataclass

from casework.stages import FINAL, HELD_BY, Side, Stage
from orders.roles import PartyKind, Role

# What is to be done at a stage where nothing is offered: name of the turn, and its words.
WORK_AT = {
    Stage.PLANNING: ("plan", "record what stands in the jaw, then mark it ready to scan"),
    Stage.SCAN_CAPTURE: ("capture", "take the scans and send the order"),
    Stage.SCAN_PROCESSING: ("process", "clean the scans up and return them"),
    Stage.DESIGN: ("design", "make the design and mark it ready for approval"),
    Stage.DESIGN_APPROVAL: ("approve", "approve the design or ask for changes"),
    Stage.FABRICATION: ("fabricate", "make the parts and dispatch them"),
    Stage.MILLING: ("mill", "make the parts and return them"),
    Stage.TRY_IN: ("try_in", "try the work in and say what was found"),
    Stage.DELIVERY: ("deliver", "deliver the work to the patient"),
    Stage.RECALL: ("recall", "see the patient at the follow-up visits"),
}

# What the receiver of an open offer has to do with it.
ANSWER_TO = {
    "send_scans": ("answer_scans", "accept or return the scans"),
    "return_scans": ("answer_processed", "accept or return the processed scans"),
    "send_order": ("answer_order", "accept or return the order"),
    "send_to_milling": ("answer_milling", "accept or return the milling order"),
    "return_milled": ("count_milled", "count the milled parts and accept or return them"),
    "dispatch_for_try_in": ("count_parcel", "receive the parcel and count it for try-in"),
    "dispatch_for_delivery": ("count_parcel", "receive the parcel and count it for delivery"),
    "return_to_finish": ("answer_return", "accept or return the work sent back to finish"),
    "return_to_redesign": ("answer_return", "accept or return the work sent back to redesign"),
}
ANSWER_OTHERWISE = ("answer", "accept or return what was offered")

# The turn of a case its dentist withdrew because the wrong patient was sent.
WRONG_PATIENT = "wrong_patient"
LOOK_AGAIN = "look_again"
ACKNOWLEDGE = "acknowledge"

SIDE_WORDS = {
    Side.PRACTICE: "the practice",
    Side.LABORATORY: "the laboratory",
    Side.SCAN_CENTRE: "the scan centre",
    Side.MILLING_CENTRE: "the milling centre",
}

# A short name of each turn for the column of a board.
TURN_LABELS = {
    "plan": "Plan",
    "capture": "Scans and order",
    "process": "Clean up scans",
    "design": "Design",
    "approve": "Approve or ask for changes",
    "fabricate": "Make and dispatch",
    "mill": "Make and return",
    "try_in": "Try-in",
    "deliver": "Delivery",
    "recall": "Follow-up visits",
    "answer_scans": "Accept or return scans",
    "answer_processed": "Accept or return processed scans",
    "answer_order": "Accept or return the order",
    "answer_milling": "Accept or return the milling order",
    "count_milled": "Count milled parts",
    "count_parcel": "Receive and count the parcel",
    "answer_return": "Accept or return the work sent back",
    "answer": "Accept or return",
    LOOK_AGAIN: "On hold: look again",
    ACKNOWLEDGE: "Acknowledge the cancellation",
    WRONG_PATIENT: "Withdrawn: wrong patient",
}


@dataclass(frozen=True, slots=True)
class Turn:
    """Whose turn it is (None: nobody's), the name of what is to be done, and the sentence."""

    side: Side | None
    name: str
    sentence: str


def turn_of(
    stage: str,
    *,
    offered_move: str = "",
    offered_to: str | None = None,
    is_on_hold: bool = False,
    hold_until: object = None,
    cancel_asked: bool = False,
    wrong_patient: bool = False,
) -> Turn:
    """The turn of a case. `offered_move` and `offered_to` describe the open offer."""
    stage = Stage(stage)
    if wrong_patient:
        return Turn(
            None,
            WRONG_PATIENT,
            "Withdrawn as sent for the wrong patient: hidden from everybody but its dentists.",
        )
    if stage in FINAL:
        return Turn(None, "", f"Nothing is left to do: the case is {stage}.")
    if cancel_asked:
        return _turn(Side.LABORATORY, ACKNOWLEDGE, "acknowledge the cancellation")
    if is_on_hold:
        when = f" on {hold_until.day} {hold_until:%B %Y}" if hold_until else ""
        return _turn(HELD_BY[stage], LOOK_AGAIN, f"look again{when}; the case is on hold")
    if offered_move and offered_to:
        return _turn(Side(offered_to), *ANSWER_TO.get(offered_move, ANSWER_OTHERWISE))
    return _turn(HELD_BY[stage], *WORK_AT[stage])


def _turn(side: Side, name: str, what: str) -> Turn:
    return Turn(side, name, f"With {SIDE_WORDS[side]}: {what}.")


def earliest(*days):
    """The first of the days that are known, or None."""
    return min((day for day in days if day is not None), default=None)


# Boards in the order in which a member who has several opens them: url name, label, the kinds
# of party that have it, and the roles that need it.
_ALL = frozenset(PartyKind)
_CENTRES = frozenset({PartyKind.SCAN_CENTRE, PartyKind.MILLING_CENTRE})
BOARDS = (
    (
        "board_decide",
        "To decide",
        frozenset({PartyKind.PRACTICE}),
        frozenset({Role.DENTIST, Role.SURGEON, Role.ASSISTANT, Role.HYGIENIST}),
    ),
    (
        "board_make",
        "To make",
        frozenset({PartyKind.LABORATORY}),
        frozenset({Role.TECHNICIAN, Role.COORDINATOR}),
    ),
    (
        "board_waiting",
        "Waiting for you",
        _CENTRES,
        frozenset({Role.SCAN_PROCESSOR, Role.MILLER, Role.COORDINATOR}),
    ),
    (
        "board_front_desk",
        "Who can come",
        frozenset({PartyKind.PRACTICE}),
        frozenset(
            {Role.FRONT_DESK, Role.DENTIST, Role.ASSISTANT, Role.HYGIENIST, Role.COORDINATOR}
        ),
    ),
    ("board_load", "Load", _ALL, frozenset({Role.COORDINATOR})),
)
CASE_LIST = "cases"
# Who works with cases at all; an administrator alone does not read across the party.
READS_CASES = frozenset(Role) - {Role.ADMINISTRATOR}
FIRST_FOR = {
    Role.COORDINATOR: "board_load",
    Role.FRONT_DESK: "board_front_desk",
}


def boards_of(party_kind: str, roles: Iterable[Role]) -> tuple[tuple[str, str], ...]:
    """The boards (url name, label) that somebody with these roles at that party has."""
    held = frozenset(roles)
    return tuple(
        (name, label)
        for name, label, kinds, needed in BOARDS
        if party_kind in kinds and held & needed
    )


def roles_of_board(name: str) -> frozenset[Role]:
    """The roles that open the board called `name`."""
    return next(needed for board, _label, _kinds, needed in BOARDS if board == name)


def kinds_of_board(name: str) -> frozenset[PartyKind]:
    """The kinds of party that have the board called `name`."""
    return next(kinds for board, _label, kinds, _needed in BOARDS if board == name)


def first_page(party_kind: str, roles: Iterable[Role]) -> str:
    """The url name of the page a member lands on after signing in."""
    held = frozenset(roles)
    own = [name for name, _label in boards_of(party_kind, held)]
    for role, name in FIRST_FOR.items():
        if held - {Role.ADMINISTRATOR} == {role} and name in own:
            return name
    if own:
        return own[0]
    return CASE_LIST if held & READS_CASES else "members"
