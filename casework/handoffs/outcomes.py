"""What happens beside offers: conditions met, work taken up, cancelling, wrong patient."""

from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from casework.audit.services import record
from casework.cases.access import require
from casework.cases.models import Case, CaseParty
from casework.cases.queries import open_offer, side_of
from casework.cases.services import refresh_summary
from casework.handoffs.models import Condition, Handoff
from casework.handoffs.notices import tell
from casework.stages import Side
from orders.refusals import Refused


def meet_condition(condition, *, by, answer, at=None):
    """Answer what an acceptance was made subject to."""
    at = at or timezone.now()
    case = condition.handoff.case
    with transaction.atomic():
        require(case, by, "answer question")
        if not answer.strip():
            raise Refused(_("Write how the condition was met."))
        if not Condition.objects.filter(pk=condition.pk, met_at=None).update(
            met_at=at, met_by=by, answer=answer
        ):
            raise Refused(_("The condition was met already."))
        record(
            "condition.met",
            subject=f"{condition._meta.label}:{condition.pk}",
            by=by,
            case=case.code,
            facts={"text": condition.text, "answer": answer},
            at=at,
        )
        refresh_summary(case)


def take_up(handoff, *, by, at=None):
    """Note that the other side took up work that was handed over at once."""
    at = at or timezone.now()
    with transaction.atomic():
        case = handoff.case
        if side_of(case, by.party) is None or handoff.to_party_id != by.party_id:
            raise Refused(_("This work was not handed to you."))
        open_rows = Handoff.objects.filter(pk=handoff.pk, state="made", taken_up_at=None)
        if not open_rows.update(taken_up_at=at, taken_up_by=by):
            return
        CaseParty.objects.filter(case=case, party=by.party, assigned=None).update(assigned=by)
        record(
            "handoff.taken_up",
            subject=handoff.subject,
            by=by,
            case=case.code,
            facts={"title": handoff.move},
            at=at,
        )
        refresh_summary(case)


def withdraw_as_wrong_patient(case, *, by, at=None):
    """Hide the case from everybody outside at once, and tell those who saw it."""
    at = at or timezone.now()
    with transaction.atomic():
        require(case, by, "withdraw as wrong patient")
        if case.wrong_patient_at:
            raise Refused(_("The case was withdrawn as wrong patient already."))
        offer = open_offer(case)
        outside = CaseParty.objects.filter(case=case).exclude(side=Side.PRACTICE)
        sides = list(
            outside.filter(seen_from__isnull=False, hidden_at=None).values_list(
                "side", flat=True
            )
        )
        for side in sides:
            if side in set(Side):
                tell(
                    case,
                    side=side,
                    event=f"case {case.pk} wrong patient {at:%Y%m%d%H%M%S}",
                    text=_(
                        "withdrawn: it was sent for the wrong patient. It is no longer shown;"
                        " delete what you downloaded of it"
                    ),
                    at=at,
                )
        outside.update(hidden_at=at)
        if offer:
            Handoff.objects.filter(pk=offer.pk, state="offered").update(
                state="withdrawn", answered_by=by, answered_at=at
            )
        Case.objects.filter(pk=case.pk).update(wrong_patient_at=at)
        case.refresh_from_db()
        record("case.hidden", subject=case.subject, by=by, case=case.code, at=at)
        refresh_summary(case)


def ask_to_cancel(case, *, by, reason, at):
    """From fabrication on the laboratory acknowledges first. Runs in the move's transaction."""
    if case.cancel_asked_at:
        raise Refused(
            _("Cancelling was asked for already; the laboratory's answer comes first.")
        )
    if not reason.strip():
        raise Refused(_("Give the reason for cancelling: it stays on the record."))
    Case.objects.filter(pk=case.pk).update(cancel_asked_at=at, cancel_reason=reason)
    case.refresh_from_db()
    tell(
        case,
        side=Side.LABORATORY,
        event=f"case {case.pk} cancel asked {at:%Y%m%d%H%M%S}",
        text=_("the practice asks to cancel: stop work and acknowledge"),
        at=at,
    )
    record(
        "case.cancel_asked",
        subject=case.subject,
        by=by,
        case=case.code,
        facts={"reason": reason},
        at=at,
    )
    refresh_summary(case)
