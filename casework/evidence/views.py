"""The files of a case: the list, the upload, one file, and what may be taken along."""

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import Http404
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_POST

from casework.cases.access import open_case
from casework.evidence import queries, rules, services
from casework.evidence.downloads import archive_response, file_response
from casework.evidence.forms import FileForm, ProposalsForm, SlotForm, UnitForm
from casework.evidence.keeping import opened
from casework.evidence.pages import bag_payloads, row_of, rows_of
from casework.evidence.uploading import streams_files, take_files
from casework.stages import Side
from orders.parties.access import members_only
from orders.refusals import Refused


def _desk(request, code):
    desk = open_case(request.member, code)
    if not queries.sees_files(desk):
        raise PermissionDenied
    return desk


@require_GET
@members_only()
def file_list(request, code):
    return _list_page(request, _desk(request, code))


def _list_page(request, desk, *, form=None, status=200):
    every = "all" in request.GET
    rows = rows_of(queries.files_for(desk, with_superseded=every), desk)
    context = {
        "desk": desk,
        "case": desk.case,
        "rows": rows,
        "with_superseded": every,
        "may_add": desk.may("add evidence"),
        "may_confirm": desk.may("add evidence") and any(row.can_be_confirmed for row in rows),
        "is_waiting": any(row.file.state in ("waiting", "inspecting") for row in rows),
        "form": form or ProposalsForm(party=request.member.party),
        "can_take_along": bool(queries.copies_for(desk)),
    }
    return render(request, "casework/evidence/files.html", context, status=status)


@streams_files(act="add evidence")
def add_files(request, desk):
    replaces, made_from = _replaced(request, desk), _made_from(request, desk)
    form = SlotForm(
        request.POST if request.method == "POST" else None,
        party=request.member.party,
        initial=_slot_of(replaces or made_from),
    )
    context = {
        "desk": desk,
        "case": desk.case,
        "form": form,
        "replaces": replaces,
        "made_from": made_from,
        "accepted": rules.ACCEPTED,
        "file_max_bytes": rules.FILE_MAX_BYTES,
    }
    status = 200
    if request.method == "POST":
        status = _post(request, desk, form, context)
    return render(request, "casework/evidence/add.html", context, status=status)


def _post(request, desk, form, context):
    """Take what was sent; returns the status of the page that says what became of it."""
    try:
        if request.refusal:
            raise request.refusal
        if not form.is_valid():
            return 422
        slot = services.Slot(
            **form.cleaned_data,
            replaces=context["replaces"],
            made_from=context["made_from"],
        )
        context["outcomes"] = take_files(desk.case, request, slot=slot)
    except Refused as refusal:
        context["sentences"] = refusal.sentences
        return getattr(refusal, "status", 409)
    return 200 if any(outcome.is_taken for outcome in context["outcomes"]) else 409


def _named(request, desk, key):
    """The file the address names as `key`, or None where it names none."""
    number = request.GET.get(key, "")
    return queries.file_for(desk, int(number[:9])) if number.isdecimal() else None


def _replaced(request, desk):
    evidence = _named(request, desk, "replaces")
    if evidence and not (queries.is_own(desk, evidence) and evidence.is_current):
        raise Http404
    return evidence


def _made_from(request, desk):
    """The raw scan that what is sent was made of."""
    evidence = _named(request, desk, "made_from")
    if evidence and evidence.format not in rules.MESHES:
        raise Http404
    return evidence


def _slot_of(evidence):
    if evidence is None:
        return None
    return {"role": evidence.role, "jaw": evidence.jaw, "sites": tuple(evidence.sites) or ""}


@require_GET
@members_only()
def one_file(request, code, number):
    desk = _desk(request, code)
    evidence = queries.file_for(desk, number)
    return _file_page(request, desk, evidence)


def _file_page(request, desk, evidence, *, form=None, unit_form=None, sentences=(), status=200):
    is_own = queries.is_own(desk, evidence)
    context = {
        "desk": desk,
        "case": desk.case,
        "file": evidence,
        "row": row_of(evidence, desk),
        "sentences": sentences,
        "form": form or _file_form(request, evidence),
        "unit_form": unit_form or UnitForm(),
        "may_change": is_own and evidence.is_current and desk.may("add evidence"),
        "may_process": desk.side == Side.SCAN_CENTRE
        and not is_own
        and evidence.format in rules.MESHES
        and desk.may("add evidence"),
        "may_repeat": is_own and desk.may("add evidence"),
        "may_settle": is_own and evidence.format in rules.MESHES and desk.may("settle unit"),
    }
    return render(request, "casework/evidence/file.html", context, status=status)


def _file_form(request, evidence, data=None):
    initial = {
        "role": evidence.role,
        "jaw": evidence.jaw,
        "sites": tuple(evidence.sites) or "",
        "taken_on": evidence.taken_on,
    }
    return FileForm(
        data, party=request.member.party, file_format=evidence.format, initial=initial
    )


def _own_file(desk, number):
    """What a file is says the party that brought it; others that see it get 403."""
    evidence = queries.file_for(desk, number)
    if not queries.is_own(desk, evidence):
        raise PermissionDenied
    return evidence


@require_POST
@members_only()
def confirm(request, code, number):
    desk = open_case(request.member, code, act="add evidence")
    evidence = _own_file(desk, number)
    form = _file_form(request, evidence, request.POST)
    if not form.is_valid():
        return _file_page(request, desk, evidence, form=form, status=422)
    try:
        services.confirm_file(evidence, by=request.member, **form.cleaned_data)
    except Refused as refusal:
        return _file_page(
            request, desk, evidence, form=form, sentences=refusal.sentences, status=409
        )
    messages.success(request, _("It is written down what the file is."))
    return redirect("case_file", code, number)


@require_POST
@members_only()
def confirm_proposals(request, code):
    desk = open_case(request.member, code, act="add evidence")
    form = ProposalsForm(request.POST, party=request.member.party)
    if not form.is_valid():
        return _list_page(request, desk, form=form, status=422)
    numbers = services.confirm_proposals(desk.case, by=request.member, **form.cleaned_data)
    said = _("Confirmed: file {numbers}.").format(numbers=", ".join(map(str, numbers)))
    messages.success(request, said)
    return redirect("case_files", code)


@require_POST
@members_only()
def inspect_again(request, code, number):
    desk = open_case(request.member, code, act="add evidence")
    services.inspect_again(_own_file(desk, number), by=request.member)
    messages.success(request, _("The file waits for its inspection."))
    return redirect("case_file", code, number)


@require_POST
@members_only()
def settle_unit(request, code, number):
    desk = open_case(request.member, code, act="settle unit")
    evidence = _own_file(desk, number)
    form = UnitForm(request.POST)
    if not form.is_valid():
        return _file_page(request, desk, evidence, unit_form=form, status=422)
    try:
        services.settle_unit(evidence, by=request.member, unit=form.cleaned_data["unit"])
    except Refused as refusal:
        return _file_page(request, desk, evidence, sentences=refusal.sentences, status=409)
    messages.success(request, _("The unit is settled; the file is measured in it."))
    return redirect("case_file", code, number)


@require_GET
@members_only()
def download(request, code, number):
    desk = _desk(request, code)
    found = queries.download_for(desk, queries.file_for(desk, number))
    if found is None:
        raise Http404
    return file_response(found)


@require_POST
@members_only()
def download_all(request, code):
    from casework.exchange.bag import bag

    desk = _desk(request, code)
    copies = queries.copies_for(desk)
    if not copies:
        raise Refused(_("There is no file yet that may be taken along."))
    services.note_download(
        desk.case, by=request.member, what=_("{count} files").format(count=len(copies))
    )
    pieces = bag(
        code,
        bag_payloads(copies, opened),
        made_at=timezone.now(),
        source=request.member.party.name,
    )
    return archive_response(pieces, f"{code}.zip")
