"""How does a parcel travel: packed, sent with an offer, expected, counted, lost, taken back?"""

from django.core.exceptions import PermissionDenied
from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from casework.audit.services import record
from casework.cases.access import require
from casework.cases.models import Case
from casework.cases.queries import open_offer, party_on, side_of
from casework.cases.services import refresh_summary
from casework.fabrication import rules
from casework.fabrication.models import Parcel, ParcelLine, Part
from casework.fabrication.queries import can_be_counted, packed_for
from casework.stages import HELD_BY, NoSuchMove, Side, find_move
from orders.records import save_record
from orders.refusals import Refused


def _refuse(objections):
    if objections:
        raise Refused(*(_(sentence) for sentence in objections))


def _say(kind, parcel, *, by, at, **facts):
    record(kind, subject=parcel.subject, by=by, case=parcel.case.code, facts=facts, at=at)


def _lines_said(parcel):
    return [
        {"part": line.part.subject, "there": line.is_there, "sound": line.is_sound}
        for line in parcel.lines.select_related("part").order_by("part_id")
    ]


def _carrying_move(case, name, by):
    """The move a parcel is packed for, where it is this side's turn to send one."""
    try:
        move = find_move(case.stage, name)
    except NoSuchMove:
        move = None
    if move is None or not move.parts_travel:
        raise Refused(_("At {stage} no parcel goes with such a move.").format(stage=case.stage))
    if HELD_BY[move.source] != side_of(case, by.party):
        raise PermissionDenied
    if offer := open_offer(case):
        raise Refused(
            _("The case is offered to {party} already; its parcel is under way.").format(
                party=offer.to_party.name
            )
        )
    to_party = party_on(case, move.to_side)
    if to_party is None:
        raise Refused(_("No {side} is chosen for this case.").format(side=move.to_side))
    return move, to_party


def pack_parcel(
    case,
    *,
    by,
    move,
    parts,
    courier,
    expected_on,
    tracking="",
    disinfected=False,
    has_statement=False,
    note="",
    seen_revision=None,
    at=None,
):
    """Pack parts for the move called `move`; packing again changes the parcel until then."""
    at = at or timezone.now()
    parts = list(parts)
    with transaction.atomic():
        case = (
            Case.objects.select_for_update(of=("self",), no_key=True)
            .select_related("order")
            .get(pk=case.pk)
        )
        require(case, by, "pack parcel")
        move, to_party = _carrying_move(case, move, by)
        if any(part.case_id != case.pk for part in parts):
            raise PermissionDenied
        parts = list(Part.objects.filter(pk__in=[part.pk for part in parts]).order_by("pk"))
        _refuse(
            rules.objections_to_parcel(
                courier=courier,
                expected_on=expected_on,
                today=at.date(),
                parts=[(part.kind, part.sites, part.place) for part in parts],
                side=side_of(case, by.party),
            )
        )
        parcel = packed_for(case, move.name, by.party)
        parcel = parcel or Parcel(case=case, move=move.name, from_party=by.party)
        parcel.to_party = to_party
        parcel.courier, parcel.tracking, parcel.expected_on = courier, tracking, expected_on
        parcel.disinfected, parcel.has_statement = disinfected, has_statement
        parcel.note = note
        save_record(parcel, by=by, case=case.code, seen_revision=seen_revision)
        parcel.lines.all().delete()
        ParcelLine.objects.bulk_create(ParcelLine(parcel=parcel, part=part) for part in parts)
        _say(
            "parcel.packed",
            parcel,
            by=by,
            at=at,
            courier=courier,
            expected_on=expected_on,
            parts=_lines_said(parcel),
        )
        refresh_summary(case)
    return parcel


def _place_parts(parcel, place, *, by):
    for line in parcel.lines.select_related("part"):
        line.part.place = place
        save_record(line.part, by=by, case=parcel.case.code)


def send_parcel(parcel, *, handoff, by, at):
    """The parcel leaves with the offer of its move. Runs in the move's transaction."""
    parcel.state, parcel.handoff, parcel.sent_at = rules.ON_THE_WAY, handoff, at
    save_record(parcel, by=by, case=parcel.case.code)
    _place_parts(parcel, rules.ON_THE_WAY, by=by)
    _say("parcel.sent", parcel, by=by, at=at, courier=parcel.courier, parts=_lines_said(parcel))


def _open_parcel(parcel, *, by, act, own_side=None):
    """The parcel, locked; `own_side` True: for its sender only, False: for its receiver."""
    parcel = (
        Parcel.objects.select_for_update(of=("self",), no_key=True)
        .select_related("case__order__patient", "to_party", "from_party", "handoff")
        .get(pk=parcel.pk)
    )
    ends = {
        True: (parcel.from_party_id,),
        False: (parcel.to_party_id,),
        None: (parcel.from_party_id, parcel.to_party_id),
    }[own_side]
    if by.party_id not in ends:
        raise PermissionDenied
    require(parcel.case, by, act)
    return parcel


def expect_parcel(parcel, *, by, expected_on, at=None):
    """Say anew when a parcel that is packed or on its way should arrive."""
    at = at or timezone.now()
    with transaction.atomic():
        is_sender = by.party_id == parcel.from_party_id
        act = "pack parcel" if is_sender else "count parcel"
        parcel = _open_parcel(parcel, by=by, act=act)
        if parcel.state not in (rules.PACKED, rules.ON_THE_WAY):
            raise Refused(_("The parcel is {state} already.").format(state=parcel.state))
        if expected_on is None or expected_on < at.date():
            raise Refused(_("Name a day from today on on which the parcel should arrive."))
        parcel.expected_on = expected_on
        save_record(parcel, by=by, case=parcel.case.code)
        _say("parcel.expected", parcel, by=by, at=at, expected_on=expected_on)
        refresh_summary(parcel.case)
    return parcel


def count_parcel(parcel, *, by, lines, note="", seen_revision=None, at=None):
    """Receive and count: `lines` are (part, is there, is sound), one for every part listed.

    A count may be corrected as long as the offer it came with is open.
    """
    at = at or timezone.now()
    with transaction.atomic():
        parcel = _open_parcel(parcel, by=by, act="count parcel", own_side=False)
        if not can_be_counted(parcel):
            raise Refused(
                _("The parcel is {state}; it cannot be counted.").format(state=parcel.state)
            )
        counted = {part.pk: (there, bool(there and sound)) for part, there, sound in lines}
        rows = list(parcel.lines.select_related("part"))
        if set(counted) != {row.part_id for row in rows}:
            raise Refused(_("Say of every part of the list whether it is there and sound."))
        side = side_of(parcel.case, parcel.to_party)
        parcel.state = rules.outcome_of_count(counted.values())
        parcel.arrived_at = None if parcel.state == rules.LOST else at
        parcel.counted_by, parcel.note = by, note or parcel.note
        save_record(parcel, by=by, case=parcel.case.code, seen_revision=seen_revision)
        for row in rows:
            row.is_there, row.is_sound = counted[row.part_id]
            row.save(update_fields=["is_there", "is_sound"])
            _receive(row.part, rules.place_after_count(*counted[row.part_id], side), by, parcel)
        _say(
            "parcel.arrived",
            parcel,
            by=by,
            at=at,
            state=parcel.state,
            parts=_lines_said(parcel),
            note=note,
        )
        refresh_summary(parcel.case)
    return parcel


def _receive(part, place, by, parcel):
    """Note where a part is. What comes back to the bench is cleaned and inspected again."""
    part.place = place
    if place == rules.AT_LABORATORY:
        part.disinfected_on = None
        part.inspected_by, part.inspected_on, part.inspection_note = None, None, ""
    save_record(part, by=by, case=parcel.case.code)


def report_lost(parcel, *, by, note, at=None):
    """Say that a parcel did not arrive; its parts count as lost until they turn up."""
    at = at or timezone.now()
    with transaction.atomic():
        is_sender = by.party_id == parcel.from_party_id
        act = "pack parcel" if is_sender else "count parcel"
        parcel = _open_parcel(parcel, by=by, act=act)
        if parcel.state != rules.ON_THE_WAY:
            raise Refused(
                _("The parcel is {state}, not on the way.").format(state=parcel.state)
            )
        if not note.strip():
            raise Refused(_("Say what is known: who was asked, and since when it is missing."))
        parcel.state, parcel.note = rules.LOST, note
        save_record(parcel, by=by, case=parcel.case.code)
        _place_parts(parcel, rules.LOST, by=by)
        _say("parcel.lost", parcel, by=by, at=at, state=rules.LOST, note=note)
        refresh_summary(parcel.case)
    return parcel


def take_back_parcel(parcel, *, by, reason, at=None):
    """The sender has the parcel back: its offer ended before the parcel was counted."""
    at = at or timezone.now()
    with transaction.atomic():
        parcel = _open_parcel(parcel, by=by, act="pack parcel", own_side=True)
        if parcel.state not in (rules.ON_THE_WAY, rules.LOST):
            raise Refused(_("The parcel is {state}.").format(state=parcel.state))
        if parcel.handoff and parcel.handoff.is_open:
            raise Refused(_("Withdraw the offer first: the other side expects the parcel."))
        if not reason.strip():
            raise Refused(_("Say how the parcel came back."))
        side = side_of(parcel.case, parcel.from_party)
        parcel.state, parcel.note = rules.TAKEN_BACK, reason
        save_record(parcel, by=by, case=parcel.case.code)
        _place_parts(parcel, rules.PLACE_OF[Side(side)], by=by)
        _say("parcel.taken_back", parcel, by=by, at=at, reason=reason)
        refresh_summary(parcel.case)
    return parcel
