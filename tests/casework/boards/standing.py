"""How does a test of the boards get a case at a stage?

Boards only read: the rows are set directly; what a move needs is tested where moves are made.
"""

from django.utils import timezone

from casework.boards.services import write_summaries
from casework.cases.models import Case, CaseParty
from casework.handoffs.models import Handoff
from orders.prescriptions.models import Prescription
from tests.factories import make_case

BEFORE_OTHERS_SEE = ("planning", "scan capture")


def case_at(stage, *, by, laboratory, assigned=None, patient=None, prescribed=None, **fields):
    """A case at a stage with fields of its own; from design on its laboratory sees it."""
    case = make_case(by, laboratory=laboratory, patient=patient)
    Case.objects.filter(pk=case.pk).update(stage=stage, **fields)
    if prescribed:
        prescribe(case, **prescribed)
    case.refresh_from_db()
    if stage not in BEFORE_OTHERS_SEE:
        show_to(case, "laboratory", assigned=assigned)
    write_summaries(case)
    return case


def prescribe(case, *, teeth=(), state="signed", **fields):
    units = [{"tooth": tooth, "kind": "retainer", "on": "implant"} for tooth in teeth]
    Prescription.objects.filter(order=case.order).update(units=units, state=state, **fields)


def show_to(case, side, *, party=None, assigned=None):
    """Let a side see the case as if something had been offered to it."""
    seat = CaseParty.objects.filter(case=case, side=side).first()
    seat = seat or CaseParty(case=case, side=side)
    seat.party = party or seat.party
    seat.seen_from, seat.assigned = timezone.now(), assigned
    seat.save()
    write_summaries(case)


def offer(case, move, *, by, to):
    """An open offer of the case to a party."""
    row = Handoff.objects.create(
        case=case,
        number=case.handoffs.count() + 1,
        move=move,
        source=case.stage,
        target="design",
        from_party=by.party,
        to_party=to,
        state="offered",
        offered_by=by,
        offered_at=timezone.now(),
    )
    write_summaries(case)
    return row
