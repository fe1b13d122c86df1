"""Which cases does a member see, and what stands about one?"""

from django.db.models import Exists, OuterRef, Q

from casework.cases.models import Case, CaseParty
from casework.stages import Side
from orders.roles import Role


def visible_to(member):
    """Cases the member's party sees. One withdrawn as wrong patient is left to its dentists."""
    seat = CaseParty.objects.filter(
        case=OuterRef("pk"), party=member.party_id, seen_from__isnull=False, hidden_at=None
    )
    cases = Case.objects.filter(Exists(seat)).select_related(
        "order__practice",
        "order__patient",
        "order__laboratory",
        "order__prescriber__person",
        "order__prescriber__party",
    )
    if member.has(Role.DENTIST):
        own = Exists(seat.filter(side=Side.PRACTICE))
        return cases.filter(Q(wrong_patient_at=None) | own)
    return cases.filter(wrong_patient_at=None)


def last_laboratory_of(prescriber):
    """The laboratory of the newest case that a prescriber opened for one, or None."""
    mine = Case.objects.filter(order__prescriber=prescriber, order__laboratory__isnull=False)
    last = mine.select_related("order__laboratory").order_by("-pk").first()
    return last and last.order.laboratory


def side_of(case, party):
    """The side on which the party works on this case, or None."""
    row = CaseParty.objects.filter(case=case, party=party).order_by("pk").first()
    return row.side if row else None


def party_on(case, side):
    """The party on a side of the case, or None where none was chosen."""
    row = (
        CaseParty.objects.filter(case=case, side=side)
        .select_related("party", "assigned__person")
        .first()
    )
    return row.party if row else None


def seat_on(case, side):
    """The CaseParty row on a side, or None."""
    return (
        CaseParty.objects.filter(case=case, side=side)
        .select_related("party", "assigned__person")
        .first()
    )


def open_offer(case):
    """The offer that waits for an answer, or None."""
    return case.handoffs.filter(state="offered").select_related("to_party").first()


def current_prescription(case):
    """The signed prescription where there is one and no draft, else the draft."""
    rows = list(case.order.prescriptions.filter(state__in=["draft", "signed"]))
    drafts = [row for row in rows if row.state == "draft"]
    return (drafts or rows or [None])[0]


def signed_prescription(case):
    """The signed prescription in force, or None."""
    return case.order.prescriptions.filter(state="signed").first()


def sites_of(case):
    """The implant sites of the order; those recorded where none is ordered yet."""
    prescription = current_prescription(case)
    ordered = prescription.implant_sites if prescription else ()
    recorded = case.order.patient.implants.order_by("site").values_list("site", flat=True)
    return tuple(ordered) or tuple(recorded)
