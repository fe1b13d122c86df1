"""Pages of the parts: recorded, inspected, disinfected, made anew; and of material lots."""

from django.core.exceptions import PermissionDenied
from django.shortcuts import get_object_or_404, render
from django.utils.translation import gettext as _

from casework.cases.access import open_case
from casework.cases.pages import answer_form, typed_in
from casework.designs.queries import stock_components
from casework.fabrication import queries, rules, services
from casework.fabrication.forms import (
    MADE_FIELDS,
    ChoosePartsForm,
    EnclosureForm,
    InspectionForm,
    LotForm,
    PartForm,
    ReasonForm,
)
from casework.stages import Side, Stage
from orders.catalogue.queries import components_for, materials_for
from orders.parties.access import members_only
from orders.roles import Role


@members_only()
def parts_page(request, code):
    desk = open_case(request.member, code, area="parts")
    context = {
        "desk": desk,
        "case": desk.case,
        "parts": queries.parts_at_desk(desk),
        "replaced": queries.all_parts(desk.case).filter(place=rules.REPLACED),
        "parcels": queries.parcels_for(desk),
        "moves": queries.parcel_moves(desk.case) if queries.may_pack(desk) else (),
        "cost": queries.cost_so_far(desk.case) if queries.cost_is_seen_by(desk) else None,
        "may_stay": desk.side == Side.PRACTICE
        and (desk.may("record try-in") or desk.may("record delivery")),
    }
    return render(request, "casework/fabrication/parts.html", context)


def _part_for(desk, pk):
    return get_object_or_404(queries.all_parts(desk.case), pk=pk)


@members_only()
def record(request, code, pk):
    desk = open_case(request.member, code, area="parts", act="record parts")
    part = _part_for(desk, pk)
    party = request.member.party
    form = PartForm(
        typed_in(request),
        party=party,
        part=part,
        initial=_initial_of(part),
        lots=queries.lots_of(party),
        components=stock_components(party) | components_for(party, kind="driver"),
        makers=queries.makers_of(party),
    )
    return answer_form(
        request,
        desk,
        form,
        title=_("Record: {part}").format(part=rules.name_of(part.kind, part.sites)),
        back="case_parts",
        act=lambda typed: services.record_part(part, by=request.member, **typed),
        done=_("The part is recorded."),
        to=("case_parts", code),
    )


def _initial_of(part):
    """What stands; for a part not made yet, how the last of its material was made."""
    alike = None if part.made_on else queries.made_alike(part)
    repeated = {name: getattr(alike, name) for name in MADE_FIELDS} if alike else {}
    return PartForm.initial_of(part) | repeated


@members_only()
def inspect(request, code, pk):
    desk = open_case(request.member, code, area="parts", act="inspect parts")
    part = _part_for(desk, pk)
    form = InspectionForm(
        typed_in(request),
        party=request.member.party,
        initial={"seen_revision": part.revision},
    )
    return answer_form(
        request,
        desk,
        form,
        title=_("Final inspection: {part}").format(part=rules.name_of(part.kind, part.sites)),
        back="case_parts",
        act=lambda typed: services.inspect_part(part, by=request.member, **typed),
        done=_("The inspection is recorded."),
        to=("case_parts", code),
    )


@members_only()
def remake(request, code, pk):
    desk = open_case(request.member, code, area="parts", act="record parts")
    part = _part_for(desk, pk)
    form = ReasonForm(typed_in(request), party=request.member.party)
    return answer_form(
        request,
        desk,
        form,
        title=_("Make anew: {part}").format(part=rules.name_of(part.kind, part.sites)),
        back="case_parts",
        act=lambda typed: services.remake_part(part, by=request.member, **typed),
        done=_("The part is to be made anew; the old one stays on record."),
        to=("case_parts", code),
    )


@members_only()
def enclose(request, code):
    desk = open_case(request.member, code, area="parts", act="record parts")
    party = request.member.party
    form = EnclosureForm(
        typed_in(request), party=party, drivers=components_for(party, kind="driver")
    )
    return answer_form(
        request,
        desk,
        form,
        title=_("Enclose a driver or the statement"),
        back="case_parts",
        act=lambda typed: services.add_enclosure(desk.case, by=request.member, **typed),
        done=_("It is on the list of parts."),
        to=("case_parts", code),
    )


@members_only()
def disinfect(request, code):
    desk = open_case(request.member, code, area="parts", act="pack parcel")
    form = ChoosePartsForm(
        typed_in(request),
        party=request.member.party,
        parts=queries.parts_in_hand(desk.case, desk.side),
    )
    return answer_form(
        request,
        desk,
        form,
        title=_("Cleaned and disinfected today"),
        back="case_parts",
        act=lambda typed: services.disinfect_parts(desk.case, by=request.member, **typed),
        done=_("Noted as disinfected."),
        to=("case_parts", code),
    )


@members_only()
def stay(request, code):
    """Single parts stay in the mouth while the others go back."""
    at_try_in = open_case(request.member, code).case.stage == Stage.TRY_IN
    act = "record try-in" if at_try_in else "record delivery"
    desk = open_case(request.member, code, area="parts", act=act)
    here = queries.current_parts(desk.case).filter(
        kind__in=rules.STAYS, place__in=[rules.AT_PRACTICE, rules.TRIED]
    )
    form = ChoosePartsForm(typed_in(request), party=request.member.party, parts=here)
    return answer_form(
        request,
        desk,
        form,
        title=_("Stays in the mouth while other parts go back"),
        back="case_parts",
        act=lambda typed: services.leave_in_mouth(desk.case, by=request.member, **typed),
        done=_("Noted as delivered."),
        to=("case_parts", code),
    )


@members_only(Role.TECHNICIAN, Role.MILLER, Role.COORDINATOR)
def lots(request):
    """The material lots of the house, and entering one."""
    member = request.member
    if member.party.kind not in (Side.LABORATORY, Side.MILLING_CENTRE):
        raise PermissionDenied
    form = LotForm(typed_in(request), party=member.party, materials=materials_for(member.party))
    return answer_form(
        request,
        None,
        form,
        template="casework/fabrication/lots.html",
        lots=queries.lots_of(member.party)[:200],
        act=lambda typed: services.enter_material_lot(by=member, **typed),
        done=_("The lot is entered."),
        to=("material_lots",),
    )
