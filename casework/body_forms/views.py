"""The page on which a party keeps the mesh of its scan body's form."""

from django.contrib import messages
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_POST

from casework.body_forms import queries, rules, services
from casework.evidence.downloads import file_response
from casework.evidence.forms import UnitForm
from casework.evidence.rules import size_in_words
from casework.evidence.uploading import streams
from orders.catalogue.services import ADDS_ROWS
from orders.parties.access import members_only
from orders.refusals import Refused


def _opened(request, pk):
    return queries.own_scan_body(request.member, pk)


@streams(_opened, *ADDS_ROWS, most=rules.FILE_MAX_BYTES)
def body_form(request, component):
    is_post = request.method == "POST"
    form = UnitForm(request.POST if is_post else None, initial={"unit": "millimetre"})
    status, sentences = 200, []
    if is_post:
        status = 422
        try:
            incoming = _sent(request)
            if form.is_valid():
                services.receive_form(
                    component,
                    by=request.member,
                    incoming=incoming,
                    unit=form.cleaned_data["unit"],
                )
                messages.success(request, _("Scan bodies are fitted to this mesh from now on."))
                return redirect("body_form", component.pk)
        except Refused as refusal:
            status, sentences = getattr(refusal, "status", 409), refusal.sentences
    present, before = queries.forms_of(component)
    context = {
        "component": component,
        "present": present,
        "before": before,
        "form": form,
        "sentences": sentences,
        "file_most": size_in_words(rules.FILE_MAX_BYTES),
        "triangles_most": f"{rules.TRIANGLES_MAX:,}",
    }
    return render(request, "casework/body_forms/form.html", context, status=status)


def _sent(request):
    """The one file of a request; raises Refused where there is another number of them."""
    if request.refusal:
        raise request.refusal
    if too_large := request.incoming.refused:
        raise services.too_large(too_large[0])
    files = [file for _field, sent in request.FILES.lists() for file in sent]
    if len(files) != 1:
        raise Refused(_("Choose one file: the mesh of the scan body's form."))
    return files[0]


@require_POST
@members_only(*ADDS_ROWS)
def body_form_remove(request, pk):
    component = _opened(request, pk)
    services.remove_form(component, by=request.member)
    messages.success(request, _("The mesh is removed: the dimensions tell the form again."))
    return redirect("body_form", component.pk)


@require_GET
@members_only(*ADDS_ROWS)
def body_form_file(request, pk, form):
    return file_response(queries.download_of(_opened(request, pk), form))
