"""How is a database filled with so many open cases in bulk, on boards as they would stand?"""

import itertools
from datetime import UTC, datetime, timedelta

from django.db import connection, transaction

from casework.boards.rules import earliest, turn_of
from casework.cases.models import Case, CaseParty, Summary
from casework.cases.services import ALPHABET
from casework.stages import Side, Stage
from orders.patients.models import Patient, PatientIdentity
from orders.prescriptions.models import Order, Prescription

BATCH = 5000
BEGIN = datetime(2026, 1, 5, 8, tzinfo=UTC)
# (stage, the open offer's move, to which side, on hold): as a busy practice has them.
STANDINGS = (
    (Stage.PLANNING, "", None, False),
    (Stage.SCAN_CAPTURE, "", None, False),
    (Stage.SCAN_CAPTURE, "send_order", Side.LABORATORY, False),
    (Stage.DESIGN, "", None, False),
    (Stage.DESIGN, "", None, True),
    (Stage.DESIGN_APPROVAL, "", None, False),
    (Stage.FABRICATION, "", None, False),
    (Stage.FABRICATION, "dispatch_for_try_in", Side.PRACTICE, False),
    (Stage.TRY_IN, "", None, False),
    (Stage.DELIVERY, "", None, False),
    (Stage.RECALL, "", None, False),
)
VISITS = {
    Stage.FABRICATION: "try-in",
    Stage.TRY_IN: "try-in",
    Stage.DELIVERY: "delivery",
    Stage.RECALL: "recall",
}
SEATS = (Side.PRACTICE, Side.LABORATORY)


def code_of(number):
    letters = []
    for _place in range(7):
        number, rest = divmod(number, len(ALPHABET))
        letters.append(ALPHABET[rest])
    return "".join(letters[:3]) + "-" + "".join(letters[3:])


def fill(cast, start, stop):
    """Make the cases numbered start to stop, all of one practice and one laboratory."""
    for first in range(start, stop, BATCH):
        with transaction.atomic():
            _batch(cast, range(first, min(first + BATCH, stop)))
    with connection.cursor() as cursor:
        cursor.execute("ANALYZE")


def _batch(cast, numbers):
    dentist = cast.members["practice", "dentist"]
    patients = Patient.objects.bulk_create(
        Patient(practice=cast.practice, code=f"P-{number:06}") for number in numbers
    )
    PatientIdentity.objects.bulk_create(
        PatientIdentity(patient=patient, name=f"Invented Person {patient.code}")
        for patient in patients
    )
    orders = Order.objects.bulk_create(
        Order(
            code=code_of(number * 7919),
            practice=cast.practice,
            patient=patient,
            prescriber=dentist,
            laboratory=cast.laboratory,
        )
        for number, patient in zip(numbers, patients, strict=True)
    )
    Prescription.objects.bulk_create(Prescription(order=order, number=1) for order in orders)
    cases = Case.objects.bulk_create(
        Case(
            order=order,
            stage=_standing(number)[0],
            stage_since=BEGIN + timedelta(minutes=number),
            hold_reason="waits for a healed site" if _standing(number)[3] else "",
        )
        for number, order in zip(numbers, orders, strict=True)
    )
    both = list(itertools.product(zip(numbers, cases, strict=True), SEATS))
    CaseParty.objects.bulk_create(
        CaseParty(case=case, side=side, seen_from=BEGIN, **_seat(cast, side, number))
        for (number, case), side in both
    )
    Summary.objects.bulk_create(
        _summary(cast, number, case, side) for (number, case), side in both
    )


def _standing(number):
    return STANDINGS[number % len(STANDINGS)]


def _seat(cast, side, number):
    """The party on a side; every third case is assigned to nobody there."""
    kind, role = (
        ("practice", "dentist") if side == Side.PRACTICE else ("laboratory", "technician")
    )
    assigned = cast.members[kind, role] if number % 3 else None
    return {"party": getattr(cast, kind), "assigned": assigned}


def _summary(cast, number, case, side):
    stage, move, to_side, on_hold = _standing(number)
    turn = turn_of(stage, offered_move=move, offered_to=to_side, is_on_hold=on_hold)
    seat = _seat(cast, side, number)
    wanted = (BEGIN + timedelta(days=number % 400)).date()
    promised = wanted - timedelta(days=2) if number % 2 else None
    row = Summary(
        case=case,
        side=side,
        code=case.order.code,
        stage=stage,
        stage_since=case.stage_since,
        teeth="45 46 47",
        practice_name=cast.practice.name,
        laboratory_name=cast.laboratory.name,
        assigned_name=seat["assigned"].person.name if seat["assigned"] else "",
        is_turn=side == turn.side,
        turn=turn.name,
        section=turn.section,
        is_on_hold=on_hold,
        wanted_on=wanted,
        promised_on=promised,
        due_on=earliest(wanted, promised),
        **seat,
    )
    if side == Side.PRACTICE and stage in VISITS:
        row.visit_kind = VISITS[stage]
        row.parts_here = stage != Stage.FABRICATION
        row.parts_expected_on = wanted
        row.visit_at = BEGIN + timedelta(days=number % 400) if number % 5 else None
        row.not_ready_because = "" if row.parts_here else "The parcel has not been counted."
    return row
