"""How is an open offer accepted, returned, withdrawn or amended?"""

from django.core.exceptions import PermissionDenied
from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from casework.cases.models import Case, CaseParty
from casework.cases.queries import side_of
from casework.cases.rules import may_act, may_move
from casework.cases.services import refresh_summary
from casework.documents.issuing import issue_papers
from casework.findings.queries import standing_of
from casework.handoffs import effects, manifest, rules
from casework.handoffs.models import Condition, Handoff, ReturnReason
from casework.handoffs.notices import tell
from casework.handoffs.refusals import MovedMeanwhile, MoveRefused
from casework.handoffs.services import arrive, list_files, say
from casework.handoffs.signing import sign_handoff
from casework.schedule.queries import calendar_of
from casework.schedule.rules import objections_to_promise
from casework.stages import HELD_BY, find_move
from orders.parties.passwords import counts_wrong_passwords
from orders.refusals import Refused


def _answerable(handoff, by, *, own_side):
    """The open offer with its case and move, locked; refuses where it is open no more."""
    case = (
        Case.objects.select_for_update(of=("self",), no_key=True)
        .select_related("order__practice")
        .get(pk=handoff.case_id)
    )
    handoff = Handoff.objects.select_related("to_party", "from_party").get(pk=handoff.pk)
    party = handoff.from_party if own_side else handoff.to_party
    if by.party_id != party.pk:
        raise PermissionDenied
    if not handoff.is_open:
        raise MovedMeanwhile(
            _("The offer is {state} already, by {name}.").format(
                state=handoff.state,
                name=(handoff.answered_by or handoff.offered_by).person.name,
            )
        )
    move = find_move(handoff.source, handoff.move)
    handoff.case = case
    return case, handoff, move


def may_answer(move, side, roles):
    """May somebody with these roles accept or return an offer of `move`?"""
    return side == move.to_side and may_act("answer offers", side, roles)


def accept_offer(handoff, *, by, promised_on=None, conditions=(), at=None):
    """Take the work over. `conditions` are (text, name of the move that waits for it)."""
    at = at or timezone.now()
    with transaction.atomic():
        case, handoff, move = _answerable(handoff, by, own_side=False)
        if not may_answer(move, side_of(case, by.party), by.role_set):
            raise PermissionDenied
        standing = standing_of(case, move, on=at.date(), for_acceptance=True)
        objections = [*rules.objections_from_checks(standing)]
        if move.name == "send_order":
            objections += objections_to_promise(
                promised_on, today=at.date(), calendar=calendar_of(by.party)
            )
        if objections:
            raise MoveRefused(*(_(sentence) for sentence in objections))
        for text, before_move in conditions:
            Condition.objects.create(handoff=handoff, text=text, before_move=before_move)
        handoff.state, handoff.answered_by, handoff.answered_at = "accepted", by, at
        handoff.taken_up_by, handoff.taken_up_at = by, at
        handoff.save()
        if promised_on and move.name == "send_order":
            Case.objects.filter(pk=case.pk).update(promised_on=promised_on)
            case.promised_on = promised_on
        _assign_taker(case, by)
        arrive(case, handoff, move, by, at)
        tell(
            case,
            side=HELD_BY[move.source],
            event=f"handoff {handoff.pk} accepted",
            text=_("accepted: {title}").format(title=_(move.title)),
            at=at,
        )
        say(
            "handoff.accepted",
            handoff,
            move,
            by,
            at,
            promised_on=promised_on,
            conditions=[text for text, _move in conditions],
        )
        refresh_summary(case)
    return handoff


def _assign_taker(case, by):
    CaseParty.objects.filter(case=case, party=by.party, assigned=None).update(assigned=by)


def return_offer(handoff, *, by, reasons, at=None):
    """Send the offer back. `reasons` are (text, "patient needed" | "record only", about)."""
    at = at or timezone.now()
    with transaction.atomic():
        case, handoff, move = _answerable(handoff, by, own_side=False)
        if not may_answer(move, side_of(case, by.party), by.role_set):
            raise PermissionDenied
        objections = tuple(rules.objections_to_return([(r[0], r[1]) for r in reasons]))
        if objections:
            raise MoveRefused(*(_(sentence) for sentence in objections))
        for text, needs, about in reasons:
            ReturnReason.objects.create(handoff=handoff, text=text, needs=needs, about=about)
        handoff.state, handoff.answered_by, handoff.answered_at = "returned", by, at
        handoff.save()
        tell(
            case,
            side=HELD_BY[move.source],
            event=f"handoff {handoff.pk} returned",
            text=_("returned to you: {title}").format(title=_(move.title)),
            at=at,
        )
        said = [dict(zip(("text", "needs", "about"), row, strict=True)) for row in reasons]
        say("handoff.returned", handoff, move, by, at, reasons=said)
        refresh_summary(case)
    return handoff


def withdraw_offer(handoff, *, by, reason, at=None):
    """Take an open offer back. A party that never accepted anything sees the case no more."""
    at = at or timezone.now()
    with transaction.atomic():
        case, handoff, move = _answerable(handoff, by, own_side=True)
        if not may_move(move, side_of(case, by.party), by.role_set):
            raise PermissionDenied
        if not reason.strip():
            raise Refused(_("Say why the offer is withdrawn."))
        handoff.state, handoff.answered_by, handoff.answered_at = "withdrawn", by, at
        handoff.save()
        taken = case.handoffs.filter(to_party=handoff.to_party, state__in=["accepted", "made"])
        if not taken.exists():
            CaseParty.objects.filter(case=case, party=handoff.to_party).update(hidden_at=at)
        tell(
            case,
            side=move.to_side,
            event=f"handoff {handoff.pk} withdrawn",
            text=_("withdrawn by the sender: {title}").format(title=_(move.title)),
            at=at,
        )
        say("handoff.withdrawn", handoff, move, by, at, reason=reason)
        refresh_summary(case)
    return handoff


@counts_wrong_passwords
def amend_offer(handoff, *, by, reason, password="", at=None):
    """Answer what only the record lacks: the open offer gets the records as they stand now."""
    at = at or timezone.now()
    with transaction.atomic():
        case, handoff, move = _answerable(handoff, by, own_side=True)
        if not may_move(move, side_of(case, by.party), by.role_set):
            raise PermissionDenied
        standing = standing_of(case, move, on=at.date())
        objections = tuple(rules.objections_from_checks(standing))
        if not reason.strip():
            objections += ("Say what the amendment answers.",)
        if objections:
            raise MoveRefused(*(_(sentence) for sentence in objections))
        handoff.manifest_number += 1
        content, files = manifest.compose(
            case,
            move,
            number=handoff.manifest_number,
            from_party=handoff.from_party,
            to_party=handoff.to_party,
            reason=reason,
            standing=standing,
        )
        handoff.manifest, handoff.manifest_digest = manifest.text_and_digest(content)
        handoff.verified = None
        handoff.save()
        list_files(handoff, files)
        if move.signed:
            effects.void_signatures(
                case,
                move_name=move.name,
                reason=_("amended: {reason}").format(reason=reason),
                by=by,
                at=at,
            )
            sign_handoff(handoff, move, by, password, "", standing, at)
        tell(
            case,
            side=move.to_side,
            event=f"handoff {handoff.pk} amended {handoff.manifest_number}",
            text=_("amended: {title}").format(title=_(move.title)),
            at=at,
        )
        say("handoff.amended", handoff, move, by, at, reason=reason)
        issue_papers(handoff, move, by=by, at=at)
        refresh_summary(case)
    return handoff
