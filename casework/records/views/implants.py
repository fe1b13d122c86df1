"""Pages on which the implants and the teeth of a case's patient are recorded."""

from django.http import Http404
from django.shortcuts import render
from django.utils.translation import gettext as _

from casework.cases.access import open_case
from casework.cases.pages import answer_form, typed_in
from casework.records import services
from casework.records.pages import initial_of
from orders.catalogue.queries import components_for
from orders.implants import rules
from orders.implants.forms import ImplantForm, ReasonForm, TeethForm
from orders.implants.queries import (
    dentition_of,
    implant_facts,
    implants_of,
    known_lots,
)
from orders.parties.access import members_only
from orders.patients.queries import birth_date_of
from orders.teeth import Notation, warn_of_other_readings
from orders.typed.identifiers import warn_of_twin
from orders.typing_fields import today_at

FORM = "casework/records/form.html"


@members_only()
def implants(request, code):
    desk = open_case(request.member, code, area="records")
    patient = desk.case.order.patient
    dentition = dentition_of(patient)
    rows = [
        (implant, _objections(implant, dentition, request.member.party, patient))
        for implant in implants_of(patient)
    ]
    context = {"desk": desk, "case": desk.case, "rows": rows}
    return render(request, "casework/records/implants.html", context)


def _objections(implant, dentition, party, patient):
    facts = implant_facts(implant)
    return (
        *rules.missing_from(facts),
        *rules.implausible(
            facts,
            today=today_at(party),
            present=dentition.present if dentition else (),
            birth_date=birth_date_of(patient),
        ),
    )


@members_only()
def implant_add(request, code):
    desk = open_case(request.member, code, act="record implants")
    rows = implants_of(desk.case.order.patient)
    initial = {}
    if rows:
        last = max(rows, key=lambda row: row.pk)
        initial = {"placed_on": last.placed_on, "placed_by": last.placed_by}
        initial |= {"component": last.component, "soft_tissue": last.soft_tissue}
    return _implant_form(request, desk, None, initial, _("Add an implant"))


@members_only()
def implant(request, code, pk):
    desk = open_case(request.member, code, act="record implants")
    row = _implant_of(desk, pk)
    initial = initial_of(row, ImplantForm)
    return _implant_form(request, desk, row, initial, _("Implant at its site"))


def _implant_form(request, desk, row, initial, title):
    party = request.member.party
    form = ImplantForm(
        typed_in(request),
        initial=initial,
        party=party,
        components=components_for(party, kind="implant"),
    )

    def act(told):
        return services.record_implant(desk.case, by=request.member, implant=row, **told)

    return answer_form(
        request,
        desk,
        form,
        act=act,
        done=_("The implant is recorded."),
        to=("case_implants", desk.case.code),
        warn=lambda saved: _warnings(form, saved, desk),
        template=FORM,
        title=title,
        back="case_implants",
        remove="case_implant_remove" if row else "",
        record=row,
    )


def _warnings(form, saved, desk):
    if "site" in form.changed_data:
        notation = Notation(desk.member.party.notation)
        yield from filter(None, [warn_of_other_readings(form["site"].data, notation)])
    others = known_lots(desk.case.order.practice, but=saved.pk)
    for name in ("lot", "identifier"):
        if name in form.changed_data and (text := getattr(saved, name)):
            label = str(form.fields[name].label)
            yield from filter(None, [warn_of_twin(text, others, field=label)])


@members_only()
def implant_remove(request, code, pk):
    desk = open_case(request.member, code, act="record implants")
    row = _implant_of(desk, pk)
    form = ReasonForm(typed_in(request), party=request.member.party)
    return answer_form(
        request,
        desk,
        form,
        act=lambda told: services.remove_implant(
            desk.case, by=request.member, implant=row, reason=told["reason"]
        ),
        done=_("The record was taken out. The trail keeps what it said."),
        to=("case_implants", code),
        template=FORM,
        title=_("Take out a record entered by mistake"),
        back="case_implants",
        is_removal=True,
    )


def _implant_of(desk, pk):
    for row in implants_of(desk.case.order.patient):
        if row.pk == pk:
            return row
    raise Http404


@members_only()
def teeth(request, code):
    desk = open_case(request.member, code, area="records")
    dentition = dentition_of(desk.case.order.patient)
    context = {"desk": desk, "case": desk.case, "dentition": dentition}
    return render(request, "casework/records/teeth.html", context)


@members_only()
def teeth_edit(request, code):
    desk = open_case(request.member, code, act="record teeth")
    row = dentition_of(desk.case.order.patient)
    initial = {"typed_as": "present", "checked_on": today_at(request.member.party)}
    if row is None:
        initial |= {"typed_as": "missing", "seen_revision": 0}
    else:
        initial |= initial_of(row, TeethForm, teeth=tuple(row.present))
        initial["prepared"] = tuple(row.prepared)
    form = TeethForm(typed_in(request), initial=initial, party=request.member.party)
    return answer_form(
        request,
        desk,
        form,
        act=lambda told: _save_teeth(desk, told),
        done=_("The teeth are recorded."),
        to=("case_teeth", code),
        template=FORM,
        title=_("Which teeth exist"),
        back="case_teeth",
    )


def _save_teeth(desk, told):
    names = ("present", "prepared", "checked_on", "seen_revision")
    return services.record_teeth(
        desk.case, by=desk.member, **{name: told[name] for name in names}
    )
