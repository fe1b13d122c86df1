"""How does a case move, at once or by an offer to the other side?

Making a move, in this order: find it; collect objections; refuse with the sentences; write the
handoff, its manifest and signature; change the stage "where it is still the source", and refuse
as moved meanwhile where no row changed; do what goes with the move; tell the other side; write
the audit entries. All in one transaction: a refusal changes nothing.
"""

from django.core.exceptions import PermissionDenied
from django.db import transaction
from django.db.models import F
from django.utils import timezone
from django.utils.translation import gettext as _

from casework.audit.services import record
from casework.cases.access import require
from casework.cases.models import Case, CaseParty
from casework.cases.queries import open_offer, party_on, side_of
from casework.cases.rules import may_move
from casework.cases.services import refresh_summary
from casework.documents.issuing import issue_papers
from casework.fabrication.services import send_parcel
from casework.findings.queries import standing_of
from casework.handoffs import effects, manifest, rules
from casework.handoffs.models import HandedFile, Handoff
from casework.handoffs.notices import tell
from casework.handoffs.outcomes import ask_to_cancel
from casework.handoffs.refusals import MovedMeanwhile, MoveRefused
from casework.handoffs.signing import sign_handoff
from casework.stages import (
    HELD_BY,
    WORK_BEGUN,
    Handing,
    NoSuchMove,
    Side,
    find_move,
)
from orders.parties.passwords import counts_wrong_passwords
from orders.refusals import Refused


@counts_wrong_passwords
def make_move(case, *, name, by, reason="", password="", token="", source="", seen="", at=None):
    """Make the move `name`, or offer it where the other side must accept.

    `source` is the stage the person saw (default: that of `case` as loaded), `seen` the digest
    of what is signed as the person saw it, `token` marks one press of the button. Returns the
    handoff; a second press of the same button returns the first one's. Where cancelling waits
    for the laboratory, there is none yet and None is returned.
    """
    at = at or timezone.now()
    source = source or case.stage
    with transaction.atomic():
        case = (
            Case.objects.select_for_update(of=("self",), no_key=True)
            .select_related("order__practice")
            .get(pk=case.pk)
        )
        if token and (pressed := case.handoffs.filter(token=token).first()):
            return pressed
        move = _move_still_open(case, name, source)
        side = side_of(case, by.party)
        if not may_move(move, side, by.role_set):
            raise PermissionDenied
        if case.wrong_patient_at and name != "cancel":
            raise MoveRefused(_("The case was withdrawn as sent for the wrong patient."))
        if name == "cancel" and case.stage in WORK_BEGUN and side == Side.PRACTICE:
            return ask_to_cancel(case, by=by, reason=reason, at=at)
        standing = _ready(case, move, reason, at)
        handoff = _write_handoff(case, move, by, reason, token, standing, at)
        if move.signed:
            sign_handoff(handoff, move, by, password, seen, standing, at)
        if move.handoff == Handing.EXPLICIT:
            _offer(case, handoff, move, by, at)
        else:
            arrive(case, handoff, move, by, at)
        issue_papers(handoff, move, by=by, at=at)
        refresh_summary(case)
    return handoff


def _move_still_open(case, name, source):
    """The move, or a refusal that says who moved the case first."""
    last = case.handoffs.order_by("-number").first()
    if case.stage != source and last:
        raise MovedMeanwhile(
            _(
                "{title}: done already by {name} at {at}. The case stands at {stage} now."
            ).format(
                title=_title(last),
                name=(last.answered_by or last.offered_by).person.name,
                at=f"{last.answered_at or last.offered_at:%Y-%m-%d %H:%M} UTC",
                stage=case.stage,
            )
        )
    try:
        return find_move(case.stage, name)
    except NoSuchMove:
        raise MoveRefused(
            _(
                "At {stage} there is no such move. Open the case again to see what can be done."
            ).format(stage=case.stage)
        ) from None


def _title(handoff):
    return _(find_move(handoff.source, handoff.move).title)


def _ready(case, move, reason, at):
    """The standing of the move's checks, where nothing is against making it."""
    standing = standing_of(case, move, on=at.date())
    offer = open_offer(case)
    receiver = party_on(case, move.to_side) if move.to_side else case.order.practice
    objections = rules.objections_to_move(
        move,
        standing=standing,
        is_on_hold=case.is_on_hold,
        offer_to=offer.to_party.name if offer else "",
        cancel_asked=bool(case.cancel_asked_at),
        receiver=receiver.name if receiver else "",
        reason=reason,
    )
    if objections:
        raise MoveRefused(*(_(sentence) for sentence in objections))
    return standing


def _write_handoff(case, move, by, reason, token, standing, at):
    last = case.handoffs.order_by("-number").first()
    to_party = party_on(case, move.to_side) if move.to_side else None
    handoff = Handoff(
        case=case,
        number=last.number + 1 if last else 1,
        move=move.name,
        source=move.source,
        target=move.target,
        from_party=by.party,
        to_party=to_party,
        state="offered" if move.handoff == Handing.EXPLICIT else "made",
        offered_by=by,
        offered_at=at,
        reason=reason,
        token=token,
    )
    files = []
    if move.handoff != Handing.NONE and to_party:
        content, files = manifest.compose(
            case,
            move,
            number=1,
            from_party=by.party,
            to_party=to_party,
            reason=reason,
            standing=standing,
        )
        handoff.manifest, handoff.manifest_digest = manifest.text_and_digest(content)
    handoff.save()
    list_files(handoff, files)
    return handoff


def list_files(handoff, files):
    handoff.files.all().delete()
    for file in files:
        name, sha256, _size = manifest.name_and_digest(file, handoff.to_party)
        HandedFile.objects.create(handoff=handoff, evidence=file, sha256=sha256, name=name)


def _offer(case, handoff, move, by, at):
    seats = CaseParty.objects.filter(case=case, side=move.to_side)
    seats.filter(seen_from=None).update(seen_from=at)
    seats.update(hidden_at=None)
    if move.parts_travel:
        parcel = case.parcels.filter(move=move.name, handoff=None, state="packed").last()
        if parcel:
            send_parcel(parcel, handoff=handoff, by=by, at=at)
    tell(
        case,
        side=move.to_side,
        event=f"handoff {handoff.pk} offered",
        text=_("offered to you: {title}").format(title=_(move.title)),
        at=at,
    )
    say("handoff.offered", handoff, move, by, at, reason=handoff.reason)


def arrive(case, handoff, move, by, at):
    """The stage changes: compare and set, then what goes with the move."""
    moved = Case.objects.filter(pk=case.pk, stage=move.source).update(
        stage=move.target, stage_since=at, version=F("version") + 1
    )
    if not moved:
        raise MovedMeanwhile(_("Somebody moved the case first. Open it again."))
    case.refresh_from_db(fields=["stage", "stage_since", "version"])
    if effect := effects.ON_ARRIVAL.get(move.name):
        effect(case, handoff, by, at)
        case.save(update_fields=["try_in_count", "closed_at"])
    if move.to_side and move.to_side != HELD_BY[move.source]:
        tell(
            case,
            side=move.to_side,
            event=f"handoff {handoff.pk} made",
            text=_("with you now: {title}").format(title=_(move.title)),
            at=at,
        )
    facts = {"title": move.title, "source": move.source, "target": move.target}
    record(
        "case.moved",
        subject=case.subject,
        by=by,
        case=case.code,
        facts=facts | {"reason": handoff.reason, "manifest_digest": handoff.manifest_digest},
        at=at,
    )


def say(kind, handoff, move, by, at, **facts):
    record(
        kind,
        subject=handoff.subject,
        by=by,
        case=handoff.case.code,
        facts={
            "title": move.title,
            "manifest_digest": handoff.manifest_digest,
            "manifest_number": handoff.manifest_number,
            **facts,
        },
        at=at,
    )


def acknowledge_cancellation(case, *, by, at=None):
    """The laboratory stops its work; the case ends, with everything done so far on record."""
    at = at or timezone.now()
    with transaction.atomic():
        case = (
            Case.objects.select_for_update(of=("self",), no_key=True)
            .select_related("order__practice")
            .get(pk=case.pk)
        )
        require(case, by, "acknowledge cancellation")
        if not case.cancel_asked_at:
            raise Refused(_("Nobody asked to cancel this case."))
        move = find_move(case.stage, "cancel")
        if offer := open_offer(case):
            Handoff.objects.filter(pk=offer.pk, state="offered").update(
                state="withdrawn", answered_by=by, answered_at=at
            )
        standing = standing_of(case, move, on=at.date())
        handoff = _write_handoff(case, move, by, case.cancel_reason, "", standing, at)
        arrive(case, handoff, move, by, at)
        tell(
            case,
            side=Side.PRACTICE,
            event=f"handoff {handoff.pk} cancelled",
            text=_("the laboratory acknowledged; the case is cancelled"),
            at=at,
        )
        refresh_summary(case)
    return handoff
