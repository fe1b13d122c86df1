"""Pages of the design versions: what each is made of, and what was marked on it."""

from django.contrib import messages
from django.http import Http404
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from casework.cases.access import open_case
from casework.cases.pages import answer_form, answer_press, typed_in
from casework.designs import rules, services
from casework.designs.forms import (
    DiscardForm,
    MadePartForm,
    MarkForm,
    NotesForm,
    StockPartForm,
)
from casework.designs.queries import (
    digest_of_version,
    files_for_parts,
    parts_of,
    stock_components,
    versions_for,
)
from orders.catalogue.queries import materials_for
from orders.parties.access import members_only


def _version_for(desk, number):
    version = versions_for(desk).filter(number=number).select_related("case__order").first()
    if version is None:
        raise Http404
    return version


@members_only()
def version_list(request, code):
    desk = open_case(request.member, code, area="design")
    versions = list(versions_for(desk))
    context = {
        "desk": desk,
        "case": desk.case,
        "versions": versions,
        "may_start": desk.may("make design")
        and not any(version.state == rules.DRAFT for version in versions),
    }
    return render(request, "casework/designs/list.html", context)


@require_POST
@members_only()
def start(request, code):
    desk = open_case(request.member, code, area="design", act="make design")
    version = services.start_version(desk.case, by=request.member)
    said = _("A new version is started; the stock parts of the last one came along.")
    messages.success(request, said if version.number > 1 else _("A version is started."))
    return redirect("case_design", code, version.number)


@members_only()
def version_page(request, code, number):
    desk = open_case(request.member, code, area="design")
    version = _version_for(desk, number)
    is_draft = version.state == rules.DRAFT
    context = {
        "desk": desk,
        "case": desk.case,
        "version": version,
        "parts": parts_of(version),
        "marks": version.marks.select_related("made_by__person", "part").order_by("pk"),
        "digest_now": digest_of_version(version),
        "may_change": is_draft and desk.may("make design"),
        "may_mark": version.state == rules.SUBMITTED and desk.may("mark design"),
    }
    return render(request, "casework/designs/version.html", context)


@members_only()
def add_made(request, code, number):
    desk = open_case(request.member, code, area="design", act="make design")
    version = _version_for(desk, number)
    party = request.member.party
    form = MadePartForm(
        typed_in(request),
        party=party,
        files=files_for_parts(desk.case, party),
        materials=materials_for(party),
    )
    return answer_form(
        request,
        desk,
        form,
        title=_("Add a part that is made"),
        back="case_designs",
        act=lambda typed: services.add_made_part(version, by=request.member, **typed),
        done=_("The part is added."),
        to=("case_design", code, number),
    )


@members_only()
def add_stock(request, code, number):
    desk = open_case(request.member, code, area="design", act="make design")
    version = _version_for(desk, number)
    party = request.member.party
    form = StockPartForm(typed_in(request), party=party, components=stock_components(party))
    return answer_form(
        request,
        desk,
        form,
        title=_("Add a stock part"),
        back="case_designs",
        act=lambda typed: services.add_stock_part(version, by=request.member, **typed),
        done=_("The part is added."),
        to=("case_design", code, number),
    )


@require_POST
@members_only()
def remove_part(request, code, number, pk):
    desk = open_case(request.member, code, area="design", act="make design")
    part = get_object_or_404(parts_of(_version_for(desk, number)), pk=pk)
    return answer_press(
        request,
        act=lambda: services.remove_part(part, by=request.member),
        done=_("The part is taken out."),
        to=("case_design", code, number),
    )


@members_only()
def notes(request, code, number):
    desk = open_case(request.member, code, area="design", act="make design")
    version = _version_for(desk, number)
    form = NotesForm(
        typed_in(request),
        party=request.member.party,
        initial={"notes": version.notes, "seen": version.digest},
    )
    return answer_form(
        request,
        desk,
        form,
        title=_("Notes on version {number}").format(number=number),
        back="case_designs",
        act=lambda typed: services.save_notes(version, by=request.member, **typed),
        done=_("The notes are saved."),
        to=("case_design", code, number),
    )


@members_only()
def discard(request, code, number):
    desk = open_case(request.member, code, area="design", act="make design")
    version = _version_for(desk, number)
    form = DiscardForm(typed_in(request), party=request.member.party)
    return answer_form(
        request,
        desk,
        form,
        title=_("Discard version {number}").format(number=number),
        back="case_designs",
        act=lambda typed: services.discard_version(version, by=request.member, **typed),
        done=_("The version is discarded; it stays on record."),
        to=("case_designs", code),
    )


@members_only()
def mark(request, code, number):
    desk = open_case(request.member, code, area="design", act="mark design")
    version = _version_for(desk, number)
    form = MarkForm(typed_in(request), party=request.member.party, parts=parts_of(version))
    return answer_form(
        request,
        desk,
        form,
        title=_("Mark version {number}").format(number=number),
        back="case_designs",
        act=lambda typed: services.mark_version(version, by=request.member, **typed),
        done=_("The mark is recorded. It goes to the laboratory when you ask for changes."),
        to=("design_look", code, number),
    )
