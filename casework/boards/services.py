"""How are the boards' rows kept true? Rewritten whole, in the transaction of what changed."""

from django.db import transaction

from casework.boards.queries import turn_of_case
from casework.boards.rules import earliest
from casework.boards.visits import follow_up_day, write_visit
from casework.cases.models import Case, Summary
from casework.cases.queries import current_prescription, signed_prescription
from casework.stages import Side, Stage
from orders.teeth import in_arch_order

_KEY = ("case", "party")
_WRITTEN = [
    field.attname for field in Summary._meta.concrete_fields if field.name not in ("id", *_KEY)
]


def write_summaries(case):
    """Write one row of the case for every party that sees it, and none for any other."""
    with transaction.atomic():
        case = Case.objects.select_related(
            "order__practice", "order__laboratory", "order__patient"
        ).get(pk=case.pk)
        rows = summaries_of(case)
        Summary.objects.filter(case=case).exclude(
            party__in=[row.party_id for row in rows]
        ).delete()
        Summary.objects.bulk_create(
            rows, update_conflicts=True, unique_fields=_KEY, update_fields=_WRITTEN
        )
    return rows


def summaries_of(case):
    """The rows as they should stand, not saved."""
    turn = turn_of_case(case)
    drafts, signed = current_prescription(case), signed_prescription(case)
    recorded = list(case.order.patient.implants.values_list("site", flat=True))
    rows = {}
    for seat in _seats_that_see(case):
        prescription = signed if seat.side == Side.LABORATORY else drafts
        row = _row(case, seat, turn, prescription)
        if seat.side != Side.MILLING_CENTRE:
            teeth = prescription.teeth if prescription else ()
            if not teeth and seat.side != Side.LABORATORY:
                teeth = recorded
            row.teeth = " ".join(in_arch_order(set(teeth)))[:80]
        row.open_question_count = case.questions.filter(
            answered_at=None, to_party=seat.party_id
        ).count()
        rows.setdefault(seat.party_id, row)
    return list(rows.values())


def _seats_that_see(case):
    seats = case.parties.filter(seen_from__isnull=False, hidden_at=None)
    if case.wrong_patient_at:
        seats = seats.filter(side=Side.PRACTICE)
    return seats.select_related("assigned__person").order_by("pk")


def _row(case, seat, turn, prescription):
    """What a party reads of the case; a milling centre no more than code and dates."""
    outside = seat.side == Side.MILLING_CENTRE
    laboratory = case.order.laboratory
    row = Summary(
        case=case,
        party_id=seat.party_id,
        side=seat.side,
        code=case.code,
        stage=case.stage,
        stage_since=case.stage_since,
        practice_name="" if outside else case.order.practice.name,
        laboratory_name=laboratory.name if laboratory else "",
        assigned=seat.assigned,
        assigned_name=seat.assigned.person.name if seat.assigned else "",
        is_turn=seat.side == turn.side,
        turn=turn.name,
        section=turn.section,
        is_on_hold=case.is_on_hold,
        is_open=not case.is_over,
        is_rush=bool(prescription and prescription.is_rush),
        wanted_on=prescription.wanted_on if prescription else None,
        promised_on=case.promised_on,
    )
    row.due_on = _due_on(case, row)
    if seat.side == Side.PRACTICE:
        write_visit(row, case)
    return row


def _due_on(case, row):
    """The hold's day or what was wanted and promised; after delivery the next visit's day."""
    if case.stage == Stage.RECALL:
        return earliest(follow_up_day(case), case.hold_until)
    return earliest(row.wanted_on, row.promised_on, case.hold_until)
