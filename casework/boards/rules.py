"""Whose turn is it on a case, and for what?

The turn follows from the stage, the open offer, the hold and an asked cancellation; it is
always said in a sentence: the party's kind, then what that party has to do.
"""

from dataclasses import dataclass
from datetime import date

from casework.stages import FINAL, HELD_BY, Side, Stage


@dataclass(frozen=True, slots=True)
class Task:
    """One thing a party may have to do: its name, its words, the section that gathers it."""

    name: str
    label: str  # in the column of a board
    words: str  # after "With the laboratory: "
    section: str


# What is to be done at a stage where nothing is offered.
WORK_AT = {
    Stage.PLANNING: Task(
        "plan", "Plan", "record what stands in the jaw, then mark it ready to scan", "plan"
    ),
    Stage.SCAN_CAPTURE: Task(
        "capture", "Scan and order", "take the scans and send the order", "scan"
    ),
    Stage.SCAN_PROCESSING: Task(
        "process", "Clean up the scans", "clean the scans up and return them", "work"
    ),
    Stage.DESIGN: Task(
        "design", "Design", "make the design and mark it ready for approval", "design"
    ),
    Stage.DESIGN_APPROVAL: Task(
        "approve", "Approve or ask", "approve the design or ask for changes", "approve"
    ),
    Stage.FABRICATION: Task(
        "fabricate", "Make and dispatch", "make the parts and dispatch them", "work"
    ),
    Stage.MILLING: Task("mill", "Make and return", "make the parts and return them", "work"),
    Stage.TRY_IN: Task("try_in", "Try in", "try the work in and say what was found", "treat"),
    Stage.DELIVERY: Task("deliver", "Deliver", "deliver the work to the patient", "treat"),
    Stage.RECALL: Task(
        "recall", "Follow-up visits", "see the patient at the follow-up visits", "recall"
    ),
}

# What the receiver of an open offer has to do with it.
_SENT_BACK = "Accept or return work sent back"
ANSWER_TO = {
    "send_scans": Task(
        "answer_scans", "Accept or return scans", "accept or return the scans", "answer"
    ),
    "return_scans": Task(
        "answer_processed",
        "Accept or return processed scans",
        "accept or return the processed scans",
        "answer",
    ),
    "send_order": Task(
        "answer_order", "Accept or return the order", "accept or return the order", "answer"
    ),
    "send_to_milling": Task(
        "answer_milling",
        "Accept or return the milling order",
        "accept or return the milling order",
        "answer",
    ),
    "return_milled": Task(
        "count_milled",
        "Count milled parts",
        "count the milled parts, then accept or return them",
        "answer",
    ),
    "dispatch_for_try_in": Task(
        "count_parcel",
        "Receive the parcel",
        "receive and count the parcel for try-in",
        "answer",
    ),
    "dispatch_for_delivery": Task(
        "count_parcel",
        "Receive the parcel",
        "receive and count the parcel for delivery",
        "answer",
    ),
    "return_to_finish": Task(
        "answer_return", _SENT_BACK, "accept or return the work sent back to finish", "answer"
    ),
    "return_to_redesign": Task(
        "answer_return", _SENT_BACK, "accept or return the work sent back to redesign", "answer"
    ),
}
ANSWER_OTHERWISE = Task(
    "answer", "Accept or return", "accept or return what was offered", "answer"
)
ACKNOWLEDGE = Task(
    "acknowledge", "Acknowledge the cancellation", "acknowledge the cancellation", "answer"
)
LOOK_AGAIN = Task("look_again", "On hold: look again", "look again", "hold")

# The turn of a case its dentist withdrew because the wrong patient was sent.
WRONG_PATIENT = "wrong_patient"
TURN_LABELS = {WRONG_PATIENT: "Withdrawn: wrong patient"} | {
    task.name: task.label
    for task in (
        *WORK_AT.values(),
        *ANSWER_TO.values(),
        ANSWER_OTHERWISE,
        ACKNOWLEDGE,
        LOOK_AGAIN,
    )
}


@dataclass(frozen=True, slots=True)
class Turn:
    """Whose turn it is (None: nobody's), the name of what is to be done, and the sentence."""

    side: Side | None
    name: str
    section: str
    sentence: str


def turn_of(
    stage: str,
    *,
    offered_move: str = "",
    offered_to: str | None = None,
    is_on_hold: bool = False,
    hold_until: date | None = None,
    cancel_asked: bool = False,
    wrong_patient: bool = False,
) -> Turn:
    """The turn of a case. `offered_move` and `offered_to` (a side) describe the open offer."""
    stage = Stage(stage)
    if wrong_patient:
        return Turn(
            None,
            WRONG_PATIENT,
            "",
            "Withdrawn as sent for the wrong patient: hidden from everybody but its dentists.",
        )
    if stage in FINAL:
        return Turn(None, "", "", f"Nothing is left to do: the case is {stage}.")
    if cancel_asked:
        return _turn(Side.LABORATORY, ACKNOWLEDGE)
    if is_on_hold:
        day = f" on {hold_until.day} {hold_until:%B %Y}" if hold_until else ""
        return _turn(HELD_BY[stage], LOOK_AGAIN, f"the case is on hold; look again{day}")
    if offered_move and offered_to in tuple(Side):
        return _turn(Side(offered_to), ANSWER_TO.get(offered_move, ANSWER_OTHERWISE))
    return _turn(HELD_BY[stage], WORK_AT[stage])


def _turn(side: Side, task: Task, words: str = "") -> Turn:
    return Turn(side, task.name, task.section, f"With the {side}: {words or task.words}.")


def earliest(*days: date | None) -> date | None:
    """The first of the days that are known, or None."""
    return min((day for day in days if day is not None), default=None)


def visit_kind(name: str) -> str:
    """The kind of a visit by its name: every follow-up is a recall."""
    return name if name in ("", "try-in", "delivery") else "recall"
