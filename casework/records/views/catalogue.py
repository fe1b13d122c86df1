"""Pages of the catalogue: shared rows to read, a party's own rows to write."""

from django.core.exceptions import PermissionDenied
from django.shortcuts import render
from django.utils.translation import gettext as _

from casework.cases.pages import answer_form, typed_in
from orders.catalogue import parts
from orders.catalogue.forms import ComponentForm, MaterialForm, SystemForm
from orders.catalogue.queries import (
    components_for,
    find_components,
    materials_for,
    own_row,
    systems_for,
)
from orders.catalogue.services import (
    ADDS_ROWS,
    save_component,
    save_material,
    save_system,
)
from orders.parties.access import members_only
from orders.roles import CLINICAL_RECORDS, PartyKind, Role
from orders.shades.forms import GuideForm
from orders.shades.queries import guides_of
from orders.shades.services import save_guide

READS_CATALOGUE = tuple(role for role in Role if role != Role.FRONT_DESK)
WRITES_GUIDES = tuple(CLINICAL_RECORDS | ADDS_ROWS)
_FORM = "orders/catalogue/form.html"
_KINDS = (PartyKind.PRACTICE, PartyKind.LABORATORY)
_MOST = 200


def _open(request):
    if request.member.party.kind not in _KINDS:
        raise PermissionDenied
    return request.member.party


@members_only(*READS_CATALOGUE)
def catalogue(request):
    party = _open(request)
    text, kind = request.GET.get("q", "").strip(), request.GET.get("kind", "")
    found = find_components(party, text, kind if kind in parts.KINDS else None)
    context = {
        "components": found[:_MOST],
        "component_count": found.count(),
        "systems": systems_for(party),
        "materials": materials_for(party),
        "guides": guides_of(party),
        "kinds": parts.KINDS,
        "text": text,
        "kind": kind,
        "may_add": request.member.has(*ADDS_ROWS),
        "may_add_guide": request.member.has(*WRITES_GUIDES),
    }
    return render(request, "orders/catalogue/catalogue.html", context)


@members_only(*ADDS_ROWS)
def component_add(request):
    return _component(request, None, {"source": "instructions for use"})


@members_only(*ADDS_ROWS)
def component(request, pk):
    row = own_row(components_for(_open(request)), pk)
    initial = {name: getattr(row, name, None) for name in ComponentForm.base_fields}
    return _component(request, row, initial | row.dimensions)


def _component(request, row, initial):
    party = _open(request)
    form = ComponentForm(
        typed_in(request),
        initial=initial,
        party=party,
        systems=systems_for(party),
        drivers=components_for(party, kind=parts.DRIVER),
    )
    return answer_form(
        request,
        None,
        form,
        act=lambda told: save_component(by=request.member, component=row, **form.row()),
        done=_("The part is in your catalogue."),
        to=("catalogue",),
        template=_FORM,
        title=_("A part of your own catalogue"),
        row=row,
    )


@members_only(*ADDS_ROWS)
def material_add(request):
    return _material(request, None, {})


@members_only(*ADDS_ROWS)
def material(request, pk):
    row = own_row(materials_for(_open(request)), pk)
    initial = {name: getattr(row, name, None) for name in MaterialForm.base_fields}
    return _material(request, row, initial | row.limits)


def _material(request, row, initial):
    form = MaterialForm(typed_in(request), initial=initial, party=_open(request))
    return answer_form(
        request,
        None,
        form,
        act=lambda told: save_material(by=request.member, material=row, **form.row()),
        done=_("The material is in your catalogue."),
        to=("catalogue",),
        template=_FORM,
        title=_("A material of your own catalogue"),
        row=row,
    )


@members_only(*ADDS_ROWS)
def system_add(request):
    form = SystemForm(typed_in(request), party=_open(request))
    return answer_form(
        request,
        None,
        form,
        act=lambda told: save_system(by=request.member, **told),
        done=_("The system is in your catalogue."),
        to=("catalogue",),
        template=_FORM,
        title=_("A system of your own catalogue"),
    )


@members_only(*WRITES_GUIDES)
def guide_add(request):
    return _guide(request, None, {})


@members_only(*WRITES_GUIDES)
def guide(request, pk):
    row = own_row(guides_of(_open(request)), pk)
    return _guide(request, row, {"name": row.name, "tabs": ", ".join(row.tabs)})


def _guide(request, row, initial):
    form = GuideForm(typed_in(request), initial=initial, party=_open(request))
    return answer_form(
        request,
        None,
        form,
        act=lambda told: save_guide(by=request.member, guide=row, **told),
        done=_("The guide is recorded."),
        to=("catalogue",),
        template=_FORM,
        title=_("A shade guide of your own"),
        row=row,
    )
