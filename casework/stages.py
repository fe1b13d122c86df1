"""Which stages does a case pass, which moves lead on, and what does each need?

A case stands at one stage. A *move* leads to another one; a move that is not listed does not
exist. Each stage is held by one side. A move whose target is held by another side is a handoff:
an EXPLICIT one is offered with a manifest and stays with the sender until the other side
accepts - only then the stage changes - or returns it; an AT_ONCE one changes the stage when it
is made. Whose turn it is follows from the stage and the open offer; it is not stored.

One row carries everything about a move: who may make it, whether it is signed or needs a
reason, the checks that guard it (file names in `casework/checks`), those that guard its
acceptance, and the papers issued with it (file names in `*/documents`). Hold is a property of
the case, not a stage. This file knows no request, no row and no check's code.
"""

from dataclasses import dataclass
from enum import StrEnum

from orders.roles import Role


class Stage(StrEnum):
    PLANNING = "planning"
    SCAN_CAPTURE = "scan capture"
    SCAN_PROCESSING = "scan processing"
    DESIGN = "design"
    DESIGN_APPROVAL = "design approval"
    FABRICATION = "fabrication"
    MILLING = "milling"
    TRY_IN = "try-in"
    DELIVERY = "delivery"
    RECALL = "recall"
    CLOSED = "closed"
    CANCELLED = "cancelled"


class Side(StrEnum):
    """Who holds a case: a practice, or one of the parties it works with."""

    PRACTICE = "practice"
    SCAN_CENTRE = "scan centre"
    LABORATORY = "laboratory"
    MILLING_CENTRE = "milling centre"


class Handing(StrEnum):
    NONE = "none"
    AT_ONCE = "at once"
    EXPLICIT = "explicit"


class NoSuchMove(Exception):
    """There is no move of that name out of that stage."""


HELD_BY = {
    Stage.PLANNING: Side.PRACTICE,
    Stage.SCAN_CAPTURE: Side.PRACTICE,
    Stage.SCAN_PROCESSING: Side.SCAN_CENTRE,
    Stage.DESIGN: Side.LABORATORY,
    Stage.DESIGN_APPROVAL: Side.PRACTICE,
    Stage.FABRICATION: Side.LABORATORY,
    Stage.MILLING: Side.MILLING_CENTRE,
    Stage.TRY_IN: Side.PRACTICE,
    Stage.DELIVERY: Side.PRACTICE,
    Stage.RECALL: Side.PRACTICE,
    Stage.CLOSED: None,
    Stage.CANCELLED: None,
}

FIRST = Stage.PLANNING
FINAL = frozenset({Stage.CLOSED, Stage.CANCELLED})
# From these on, work of the laboratory is under way and cancelling needs its acknowledgement.
WORK_BEGUN = frozenset(
    {Stage.FABRICATION, Stage.MILLING, Stage.TRY_IN, Stage.DELIVERY, Stage.RECALL}
)


@dataclass(frozen=True, slots=True)
class Move:
    """One way from a stage to another, with everything that belongs to it."""

    name: str
    title: str  # what the button says
    source: Stage
    target: Stage
    by: frozenset[Role]
    handoff: Handing = Handing.NONE
    signed: bool = False
    reason: bool = False  # cannot be made without saying why
    parts_travel: bool = False  # a parcel goes with it
    checks: tuple[str, ...] = ()
    accept_checks: tuple[str, ...] = ()
    papers: tuple[str, ...] = ()

    @property
    def to_side(self):
        return HELD_BY[self.target]


DENTIST = frozenset({Role.DENTIST})
CHAIRSIDE = frozenset({Role.DENTIST, Role.ASSISTANT})
TECHNICIAN = frozenset({Role.TECHNICIAN})
SENDERS = frozenset({Role.TECHNICIAN, Role.COORDINATOR})
EITHER_SIDE = frozenset({Role.TECHNICIAN, Role.DENTIST})

SCAN_CHECKS = (
    "scan_bodies_placed",
    "scan_bodies_seated",
    "scans_complete",
    "scans_readable",
    "scans_distinct",
    "scan_dates_agree",
    "scans_measured",
    "scans_in_one_frame",
    "earlier_scans_agree",
    "scans_dense_where_needed",
    "scan_bodies_found",
    "jaws_bite",
)
ORDER_CHECKS = SCAN_CHECKS + (
    "room_known",
    "scan_true_over_span",
    "second_scan_agrees",
    "processed_scan_unchanged",
    "implants_parallel_enough",
    "implants_recorded",
    "implants_plausible",
    "processed_scans_returned",
    "bite_recorded",
    "shade_recorded",
    "photographs_present",
    "prescription_complete",
    "prescription_coherent",
    "dates_possible",
)
# Of the values measured on a design: whoever makes it reads them, and whoever approves it.
DESIGN_CHECKS = (
    "parts_measured",
    "poses_agree",
    "screws_pass",
    "walls_sufficient",
    "room_over_abutments",
    "connectors_sufficient",
    "paths_common",
    "parts_fit",
    "bite_clear",
    "fronts_even",
    "versions_compared",
)
DISPATCH_CHECKS = (
    "approval_stands",
    "conditions_met",
    "parts_match_design",
    "check_scan_agrees",
    "parts_traceable",
    "screws_enclosed",
    "parts_inspected",
    "statement_enclosed",
    "parcel_described",
)


def _from_try_in_or_delivery(name, title, target, **fields):
    return tuple(
        Move(name, title, source, target, DENTIST, reason=True, **fields)
        for source in (Stage.TRY_IN, Stage.DELIVERY)
    )


MOVES = (
    Move(
        "ready_to_scan",
        "Ready to scan",
        Stage.PLANNING,
        Stage.SCAN_CAPTURE,
        DENTIST,
        checks=(
            "implants_recorded",
            "implants_plausible",
            "healing_recorded",
            "soft_tissue_recorded",
            "teeth_recorded",
        ),
    ),
    Move(
        "back_to_planning",
        "Back to planning",
        Stage.SCAN_CAPTURE,
        Stage.PLANNING,
        CHAIRSIDE,
        reason=True,
    ),
    Move(
        "send_scans",
        "Send the scans to the scan centre",
        Stage.SCAN_CAPTURE,
        Stage.SCAN_PROCESSING,
        CHAIRSIDE,
        Handing.EXPLICIT,
        checks=SCAN_CHECKS,
        accept_checks=("manifest_verified",),
        papers=("handoff_note",),
    ),
    Move(
        "return_scans",
        "Return the processed scans",
        Stage.SCAN_PROCESSING,
        Stage.SCAN_CAPTURE,
        frozenset({Role.SCAN_PROCESSOR}),
        Handing.EXPLICIT,
        checks=("processed_scans_returned", "scans_readable", "processed_scan_unchanged"),
        accept_checks=("manifest_verified",),
        papers=("handoff_note",),
    ),
    Move(
        "send_order",
        "Send the order to the laboratory",
        Stage.SCAN_CAPTURE,
        Stage.DESIGN,
        DENTIST,
        Handing.EXPLICIT,
        signed=True,
        checks=ORDER_CHECKS,
        accept_checks=("manifest_verified", "components_known", "material_named"),
        papers=("order_sheet", "handoff_note"),
    ),
    Move(
        "submit_design",
        "Mark the design ready for approval",
        Stage.DESIGN,
        Stage.DESIGN_APPROVAL,
        TECHNICIAN,
        Handing.AT_ONCE,
        checks=(
            "components_known",
            "records_unchanged",
            "conditions_met",
            "design_complete",
            "design_readable",
            "design_matches_order",
            *DESIGN_CHECKS,
            "questions_answered",
        ),
        papers=("handoff_note", "measurement_report"),
    ),
    Move(
        "approve_design",
        "Approve this design version",
        Stage.DESIGN_APPROVAL,
        Stage.FABRICATION,
        DENTIST,
        Handing.AT_ONCE,
        signed=True,
        checks=("design_unchanged", *DESIGN_CHECKS, "questions_answered"),
        papers=("design_approval",),
    ),
    Move(
        "ask_for_changes",
        "Ask for changes to the design",
        Stage.DESIGN_APPROVAL,
        Stage.DESIGN,
        DENTIST,
        Handing.AT_ONCE,
        reason=True,
    ),
    Move(
        "ask_for_rescan",
        "Ask for a rescan",
        Stage.DESIGN,
        Stage.SCAN_CAPTURE,
        EITHER_SIDE,
        Handing.AT_ONCE,
        reason=True,
    ),
    Move(
        "ask_for_rescan",
        "Ask for a rescan",
        Stage.DESIGN_APPROVAL,
        Stage.SCAN_CAPTURE,
        EITHER_SIDE,
        Handing.AT_ONCE,
        reason=True,
    ),
    Move(
        "reopen_design",
        "Reopen the design",
        Stage.FABRICATION,
        Stage.DESIGN,
        TECHNICIAN,
        reason=True,
    ),
    Move(
        "send_to_milling",
        "Send to milling",
        Stage.FABRICATION,
        Stage.MILLING,
        TECHNICIAN,
        Handing.EXPLICIT,
        checks=("approval_stands", "conditions_met", "milling_material_named"),
        accept_checks=("manifest_verified",),
        papers=("handoff_note",),
    ),
    Move(
        "return_milled",
        "Return the milled parts",
        Stage.MILLING,
        Stage.FABRICATION,
        frozenset({Role.MILLER}),
        Handing.EXPLICIT,
        parts_travel=True,
        checks=("milled_lots_recorded", "parcel_described"),
        accept_checks=("parcel_counted",),
        papers=("handoff_note",),
    ),
    Move(
        "dispatch_for_try_in",
        "Dispatch for try-in",
        Stage.FABRICATION,
        Stage.TRY_IN,
        SENDERS,
        Handing.EXPLICIT,
        parts_travel=True,
        checks=("try_in_due", *DISPATCH_CHECKS),
        accept_checks=("parcel_counted",),
        papers=("handoff_note",),
    ),
    Move(
        "dispatch_for_delivery",
        "Dispatch for delivery",
        Stage.FABRICATION,
        Stage.DELIVERY,
        SENDERS,
        Handing.EXPLICIT,
        parts_travel=True,
        checks=("try_in_over", *DISPATCH_CHECKS),
        accept_checks=("parcel_counted",),
        papers=("handoff_note",),
    ),
    Move(
        "pass_try_in",
        "Try-in passed",
        Stage.TRY_IN,
        Stage.DELIVERY,
        DENTIST,
        checks=("parts_received", "try_in_recorded"),
    ),
    *_from_try_in_or_delivery(
        "return_to_finish",
        "Return to finish or adjust",
        Stage.FABRICATION,
        handoff=Handing.EXPLICIT,
        parts_travel=True,
        checks=("returned_parts_described",),
        accept_checks=("parcel_counted",),
        papers=("handoff_note",),
    ),
    *_from_try_in_or_delivery(
        "return_to_redesign",
        "Return to redesign",
        Stage.DESIGN,
        handoff=Handing.EXPLICIT,
        parts_travel=True,
        checks=("returned_parts_described",),
        accept_checks=("parcel_counted",),
        papers=("handoff_note",),
    ),
    *_from_try_in_or_delivery(
        "rescan_after_try_in",
        "Rescan after try-in",
        Stage.SCAN_CAPTURE,
    ),
    Move(
        "deliver",
        "Delivered to the patient",
        Stage.DELIVERY,
        Stage.RECALL,
        DENTIST,
        checks=(
            "parts_received",
            "screws_tightened",
            "channels_closed",
            "cement_checked",
            "delivery_recorded",
        ),
        papers=("delivery_record", "follow_up_plan"),
    ),
    Move(
        "close",
        "Close the case",
        Stage.RECALL,
        Stage.CLOSED,
        DENTIST,
        checks=("recall_visits_done", "recall_within_limits"),
    ),
    *(
        Move(
            "cancel",
            "Cancel the case",
            stage,
            Stage.CANCELLED,
            DENTIST,
            Handing.AT_ONCE,
            reason=True,
        )
        for stage in Stage
        if stage not in FINAL
    ),
)


def find_move(stage, name):
    """The move called `name` out of `stage`; raises NoSuchMove."""
    for move in MOVES:
        if move.source == stage and move.name == name:
            return move
    raise NoSuchMove(f"There is no move {name!r} out of {stage!s}.")


def moves_from(stage, roles=None):
    """The moves out of `stage`, or those of them that one of `roles` may make."""
    return tuple(
        move
        for move in MOVES
        if move.source == stage and (roles is None or move.by & frozenset(roles))
    )


def move_names():
    """Every move's name once, in the order of the table."""
    return tuple(dict.fromkeys(move.name for move in MOVES))


def guarded_by(check):
    """Names of the moves whose making or acceptance needs `check`."""
    return {move.name for move in MOVES if check in move.checks + move.accept_checks}


def checks_needed():
    """Names of all checks that some move needs."""
    return {name for move in MOVES for name in move.checks + move.accept_checks}


def papers_issued():
    """Names of all papers that some move issues."""
    return {name for move in MOVES for name in move.papers}
