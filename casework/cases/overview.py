"""What does the case page show of a case to this member? Reads only."""

from dataclasses import dataclass

from django.utils.translation import gettext_lazy

from casework.audit.queries import trail_of
from casework.cases.queries import current_prescription, signed_prescription
from casework.stages import Side, Stage

# A case passes them only where somebody outside the two sides works on it.
OPTIONAL = frozenset({Stage.SCAN_PROCESSING, Stage.MILLING})

# What is recorded at a stage before its moves: the page, who may (an act), and its words.
RECORDS = {
    Stage.PLANNING: (
        ("case_implants", "record implants", gettext_lazy("Record implants")),
        ("case_readings", "record readings", gettext_lazy("Record readings")),
        ("case_teeth", "record teeth", gettext_lazy("Record teeth")),
    ),
    Stage.SCAN_CAPTURE: (
        ("case_files", "add evidence", gettext_lazy("Add scans and pictures")),
        ("case_scan_bodies", "record scan bodies", gettext_lazy("Record scan bodies")),
        ("case_bite", "record bite", gettext_lazy("Record the bite")),
        ("case_shade", "record shade", gettext_lazy("Note the shade")),
        ("case_prescription", "write prescription", gettext_lazy("Write the prescription")),
    ),
    Stage.DESIGN: (
        ("case_files", "make design", gettext_lazy("Upload design parts")),
        ("case_designs", "make design", gettext_lazy("Put a version together")),
    ),
    Stage.DESIGN_APPROVAL: (("case_look", "mark design", gettext_lazy("Look at the design")),),
    Stage.FABRICATION: (
        ("case_parts", "record parts", gettext_lazy("Record parts and pack them")),
    ),
    Stage.TRY_IN: (("case_visits", "record try-in", gettext_lazy("Record the try-in")),),
    Stage.DELIVERY: (
        ("case_visits", "record delivery", gettext_lazy("Record screws and delivery")),
    ),
    Stage.RECALL: (
        ("case_visits", "record follow-up", gettext_lazy("Record a follow-up visit")),
    ),
}


@dataclass(frozen=True)
class Overview:
    """The case at one glance."""

    prescription: object
    offer: object
    offered_to_me: bool
    records: tuple
    moves: tuple
    questions: list
    conditions: list
    work_to_take_up: object
    papers: list
    last_lines: list
    seats: list
    found: dict | None


def overview_of(desk):
    """The overview of one desk's case."""
    from casework.findings.queries import last_found
    from casework.handoffs.queries import handoffs_for
    from casework.questions.queries import questions_for

    case = desk.case
    offer = handoffs_for(desk).filter(state="offered").first()
    conditions = [
        condition
        for handoff in handoffs_for(desk).filter(state="accepted")
        for condition in handoff.conditions.all()
        if condition.met_at is None
    ]
    return Overview(
        prescription=_prescription_for(desk),
        offer=offer,
        offered_to_me=bool(offer) and offer.to_party_id == desk.member.party_id,
        records=_records_of(desk),
        moves=_moves_of(desk),
        questions=list(questions_for(desk).filter(answered_at=None)),
        conditions=conditions,
        work_to_take_up=case.handoffs.filter(
            state="made", taken_up_at=None, to_party=desk.member.party, target=case.stage
        )
        .exclude(from_party=desk.member.party)
        .order_by("-number")
        .first()
        if desk.may("answer offers")
        else None,
        papers=list(
            case.order.papers.filter(parties=desk.member.party).order_by("-issued_at")[:6]
        ),
        last_lines=trail_for(desk)[-12:][::-1] if desk.sees("trail") else [],
        found=last_found(case, desk.member.party) if desk.sees("handoffs") else None,
        seats=_seats_for(desk),
    )


def _prescription_for(desk):
    """Outside the practice a draft does not exist."""
    look = current_prescription if desk.side == Side.PRACTICE else signed_prescription
    return look(desk.case)


def _seats_for(desk):
    """Who works on the case; a milling centre reads only of who sends it work."""
    seats = desk.case.parties.select_related("party", "assigned__person").order_by("pk")
    if desk.side == Side.MILLING_CENTRE:
        seats = seats.filter(side__in=(Side.LABORATORY, Side.MILLING_CENTRE))
    return list(seats)


def _records_of(desk):
    """The pages on which this member records what the stage is about."""
    rows = RECORDS.get(desk.case.stage, ())
    return tuple((page, words) for page, act, words in rows if desk.may(act))


def _moves_of(desk):
    """What this member may do next: the usual way on first, ways back last."""
    return tuple(
        sorted(desk.moves, key=lambda m: (m.reason, m.target in OPTIONAL, not m.signed))
    )


def trail_for(desk):
    """The trail as this desk reads it: a party outside, from when it first saw the case."""
    return trail_of(desk.case.code, party=desk.member.party_id, since=desk.seat.seen_from)
