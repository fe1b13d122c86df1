"""What is done with a case as a whole: open, hold, assign, choose parties?"""

import secrets

from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from casework.audit.services import record
from casework.cases.access import require
from casework.cases.models import Case, CaseParty
from casework.cases.queries import seat_on
from casework.stages import FIRST, Side
from orders.parties.queries import partners_of
from orders.prescriptions.models import Order, Prescription
from orders.refusals import Refused
from orders.roles import Role

PLACING_PRACTICE = "placing practice"
# No letter or digit that is read as another.
ALPHABET = "ABCDEFGHJKMNPQRSTUVWXYZ23456789"


def new_code():
    """A case code nobody has: three characters, a hyphen, four characters."""
    while True:
        letters = [secrets.choice(ALPHABET) for _i in range(7)]
        code = "".join(letters[:3]) + "-" + "".join(letters[3:])
        if not Order.objects.filter(code=code).exists():
            return code


def open_case_for(patient, *, by, laboratory=None, linked_to=None, link_reason="", at=None):
    """Open a case at planning with its draft order."""
    at = at or timezone.now()
    if not by.has(Role.DENTIST):
        raise Refused(_("Only a dentist opens a case: it carries the prescriber's name."))
    if patient.practice_id != by.party_id or patient.erased_at:
        raise Refused(_("This patient is not on record at your practice."))
    with transaction.atomic():
        order = Order.objects.create(
            code=new_code(),
            practice=by.party,
            patient=patient,
            prescriber=by,
            laboratory=laboratory,
            linked_to=linked_to,
            link_reason=link_reason,
        )
        Prescription.objects.create(order=order, number=1)
        case = Case.objects.create(order=order, stage=FIRST, stage_since=at)
        CaseParty.objects.create(
            case=case, party=by.party, side=Side.PRACTICE, seen_from=at, assigned=by
        )
        record(
            "case.opened",
            subject=case.subject,
            by=by,
            case=case.code,
            facts={
                "patient": patient.code,
                "linked_to": linked_to and linked_to.code,
                "link_reason": link_reason,
            },
            at=at,
        )
        if laboratory:
            choose_party(case, side=Side.LABORATORY, party=laboratory, by=by)
        refresh_summary(case)
    return case


def choose_party(case, *, side, party, by, at=None):
    """Put a party on a side of the case. It sees nothing before something is offered to it.

    A placing practice sees its part at once: it has the implants' records to give.
    """
    with transaction.atomic():
        milling = side == Side.MILLING_CENTRE
        require(case, by, "choose milling centre" if milling else "choose parties")
        if party not in partners_of(by.party, side):
            raise Refused(
                _("{party} is not one of your partners for this side.").format(party=party)
            )
        seat = seat_on(case, side)
        if seat and seat.seen_from and not seat.hidden_at and seat.party_id != party.pk:
            raise Refused(
                _("{party} has seen the case already; withdraw the offer first.").format(
                    party=seat.party
                )
            )
        seen_from = (at or timezone.now()) if side == PLACING_PRACTICE else None
        CaseParty.objects.update_or_create(
            case=case,
            side=side,
            defaults={
                "party": party,
                "assigned": None,
                "hidden_at": None,
                "seen_from": seen_from,
            },
        )
        if side == Side.LABORATORY:
            Order.objects.filter(pk=case.order_id).update(laboratory=party)
            case.order.laboratory = party
        record(
            "case.party_chosen",
            subject=case.subject,
            by=by,
            case=case.code,
            facts={"party": party.name, "side": side},
        )
        refresh_summary(case)


def hold_case(case, *, by, reason, look_again_on, at=None):
    """Put the case on hold; it stays at its stage and surfaces on the day named."""
    with transaction.atomic():
        require(case, by, "hold")
        if not reason.strip():
            raise Refused(_("Say why the case is on hold."))
        if look_again_on is None or look_again_on < (at or timezone.now()).date():
            raise Refused(_("Name a day from today on to look at the case again."))
        Case.objects.filter(pk=case.pk).update(hold_reason=reason, hold_until=look_again_on)
        case.refresh_from_db()
        record(
            "case.held",
            subject=case.subject,
            by=by,
            case=case.code,
            facts={"reason": reason, "look_again_on": look_again_on},
        )
        refresh_summary(case)


def release_case(case, *, by):
    """Take the case off hold."""
    with transaction.atomic():
        require(case, by, "hold")
        if not case.is_on_hold:
            raise Refused(_("The case is not on hold."))
        Case.objects.filter(pk=case.pk).update(hold_reason="", hold_until=None)
        case.refresh_from_db()
        record("case.released", subject=case.subject, by=by, case=case.code)
        refresh_summary(case)


def assign_case(case, *, by, member):
    """Give one side's work on the case to one of its members (or to nobody)."""
    with transaction.atomic():
        require(case, by, "assign")
        if member and (member.party_id != by.party_id or not member.is_active):
            raise Refused(_("Only an active member of your own party can be given the case."))
        seats = CaseParty.objects.filter(case=case, party=by.party)
        seats.update(assigned=member)
        record(
            "case.assigned",
            subject=case.subject,
            by=by,
            case=case.code,
            facts={"member": member.person.name if member else _("nobody")},
        )
        refresh_summary(case)


def pass_to_prescriber(case, *, by, member):
    """Pass the case to another prescriber of the practice, who signs anew."""
    with transaction.atomic():
        require(case, by, "pass prescriber")
        if member.party_id != by.party_id or not member.has(Role.DENTIST):
            raise Refused(_("Only a dentist of the same practice can take the case over."))
        Order.objects.filter(pk=case.order_id).update(prescriber=member)
        case.order.prescriber = member
        record(
            "case.prescriber_changed",
            subject=case.subject,
            by=by,
            case=case.code,
            facts={"member": member.person.name},
        )
        refresh_summary(case)


def refresh_summary(case):
    """Rewrite what the boards show of the case, in the caller's transaction."""
    from casework.boards.services import write_summaries

    write_summaries(case)
