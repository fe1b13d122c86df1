"""Pages of the parcels: packed, counted, reported lost, taken back."""

from django.core.exceptions import PermissionDenied
from django.http import Http404
from django.shortcuts import get_object_or_404, render
from django.utils.translation import gettext as _

from casework.cases.access import open_case
from casework.cases.pages import answer_form, typed_in
from casework.fabrication import queries, services
from casework.fabrication.forms import CountForm, LostForm, ParcelForm, ReasonForm
from casework.stages import HELD_BY, find_move
from orders.parties.access import members_only


@members_only()
def pack(request, code, name):
    desk = open_case(request.member, code, area="parts", act="pack parcel")
    if name not in queries.parcel_moves(desk.case):
        raise Http404
    if HELD_BY[desk.case.stage] != desk.side:
        raise PermissionDenied
    move = find_move(desk.case.stage, name)
    parcel = queries.packed_for(desk.case, name, request.member.party)
    parts = queries.parts_in_hand(desk.case, desk.side)
    form = ParcelForm(
        typed_in(request),
        party=request.member.party,
        parts=parts,
        initial=_initial_of(parcel)
        if parcel
        else {
            "parts": [part.pk for part in parts],
            "courier": queries.last_courier_of(request.member.party),
        },
    )
    return answer_form(
        request,
        desk,
        form,
        title=_("Pack a parcel: {move}").format(move=_(move.title)),
        back="case_parts",
        act=lambda typed: services.pack_parcel(
            desk.case, by=request.member, move=name, **typed
        ),
        done=_("The parcel is packed. It leaves with the move."),
        to=("case_parts", code),
    )


def _initial_of(parcel):
    names = ("courier", "tracking", "expected_on", "disinfected", "has_statement", "note")
    return {name: getattr(parcel, name) for name in names} | {
        "seen_revision": parcel.revision,
        "parts": [line.part_id for line in parcel.lines.all()],
    }


def _parcel_for(desk, pk):
    return get_object_or_404(queries.parcels_for(desk), pk=pk)


@members_only()
def parcel_page(request, code, pk):
    desk = open_case(request.member, code, area="parts")
    parcel = _parcel_for(desk, pk)
    is_receiver = parcel.to_party_id == request.member.party_id
    context = {
        "desk": desk,
        "case": desk.case,
        "parcel": parcel,
        "move": find_move(parcel.handoff.source, parcel.move) if parcel.handoff else None,
        "may_answer": is_receiver
        and parcel.counted_by_id is not None
        and parcel.handoff is not None
        and parcel.handoff.is_open
        and desk.may("count parcel"),
        "may_count": is_receiver
        and desk.may("count parcel")
        and queries.can_be_counted(parcel),
        "may_pack": not is_receiver and desk.may("pack parcel"),
    }
    return render(request, "casework/fabrication/parcel.html", context)


@members_only()
def count(request, code, pk):
    desk = open_case(request.member, code, area="parts", act="count parcel")
    parcel = _parcel_for(desk, pk)
    if parcel.to_party_id != request.member.party_id:
        raise PermissionDenied
    form = CountForm(
        typed_in(request),
        party=request.member.party,
        lines=parcel.lines.select_related("part"),
        initial={"seen_revision": parcel.revision},
    )
    return answer_form(
        request,
        desk,
        form,
        template="casework/fabrication/count.html",
        parcel=parcel,
        act=lambda typed: services.count_parcel(
            parcel,
            by=request.member,
            lines=form.counted(),
            note=typed["note"],
            seen_revision=typed["seen_revision"],
        ),
        done=_("The parcel is counted. Accept or return what was offered with it."),
        to=("parcel", code, pk),
    )


@members_only()
def lost(request, code, pk):
    desk = open_case(request.member, code, area="parts")
    parcel = _parcel_for(desk, pk)
    act = "pack parcel" if parcel.from_party_id == request.member.party_id else "count parcel"
    desk = open_case(request.member, code, area="parts", act=act)
    form = LostForm(typed_in(request), party=request.member.party)
    return answer_form(
        request,
        desk,
        form,
        title=_("The parcel did not arrive"),
        back="case_parts",
        act=lambda typed: services.report_lost(parcel, by=request.member, **typed),
        done=_(
            "The parcel is reported lost. Return or withdraw what was offered with it: the"
            " laboratory makes the parts anew."
        ),
        to=("parcel", code, pk),
    )


@members_only()
def take_back(request, code, pk):
    desk = open_case(request.member, code, area="parts", act="pack parcel")
    parcel = _parcel_for(desk, pk)
    if parcel.from_party_id != request.member.party_id:
        raise PermissionDenied
    form = ReasonForm(typed_in(request), party=request.member.party)
    return answer_form(
        request,
        desk,
        form,
        title=_("The parcel came back"),
        back="case_parts",
        act=lambda typed: services.take_back_parcel(parcel, by=request.member, **typed),
        done=_("The parts are in your hands again."),
        to=("parcel", code, pk),
    )
