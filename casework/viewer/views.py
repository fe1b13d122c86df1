"""The page on which a case is looked at, and the bytes that its script asks for."""

import base64

from django.contrib.staticfiles import finders
from django.core.exceptions import PermissionDenied
from django.http import FileResponse, Http404, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_GET

from casework.cases.access import open_case
from casework.cases.queries import sites_of
from casework.checks import file_words
from casework.designs import rules
from casework.designs.forms import MarkForm
from casework.designs.queries import current_version, parts_of, versions_for
from casework.evidence.keeping import opened
from casework.evidence.queries import file_for, sees_files
from casework.findings.measure_pages import sees_measures
from casework.findings.measuring import drawn
from casework.measurements.fields import unpacked
from casework.previews.queries import preview_of
from casework.questions.queries import sides_to_ask
from casework.readings.forms import PointForm
from casework.readings.queries import SCAN_WITH_BODIES, pointed_of
from casework.viewer.scene import seen_at
from orders.jobs.queries import pending
from orders.parties.access import members_only

SCRIPT = "viewer.js"


@require_GET
@members_only()
def look(request, code, number=None):
    """The scans of a case, or a version of its design upon them, with what was found."""
    desk = open_case(request.member, code, area="design" if number else None)
    if not sees_measures(desk):
        raise PermissionDenied
    version = _version(desk, number)
    seen = seen_at(desk, timezone.now().date(), version)
    may_mark = (
        version is not None and version.state == rules.SUBMITTED and desk.may("mark design")
    )
    context = {
        "desk": desk,
        "case": desk.case,
        "seen": seen,
        "version": version,
        "versions": versions_for(desk) if desk.sees("design") else (),
        "may_mark": may_mark,
        "mark_form": MarkForm(party=request.member.party, parts=parts_of(version))
        if may_mark
        else None,
        "may_ask": desk.may("ask question") and bool(sides_to_ask(desk)),
        "point_form": _point_form(desk, seen),
        "pointed": pointed_of(desk.case),
        "may_measure": desk.may("ask for checks"),
        "is_measuring": pending("findings.measure", [desk.case.pk]).get(desk.case.pk),
        # Built at set-up; without it the pictures and the table say the same.
        "has_script": finders.find(SCRIPT) is not None,
    }
    return render(request, "casework/viewer/look.html", context)


def _point_form(desk, seen):
    """Pointing at scan bodies, for whoever may, where a scan that shows them is there."""
    is_shown = any(one["role"] == SCAN_WITH_BODIES for one in seen.surfaces)
    if not is_shown or not desk.may("point at scan body"):
        return None
    return PointForm(
        party=desk.member.party, sites=sites_of(desk.case), initial={"do": "point"}
    )


def _version(desk, number):
    """The version asked for; on the page of the case the newest one that the desk sees."""
    if number is None:
        if not desk.sees("design"):
            return None
        return versions_for(desk).exclude(state=rules.SUPERSEDED).first()
    version = versions_for(desk).filter(number=number).first()
    if version is None:
        raise Http404
    return version


@require_GET
@members_only()
def preview(request, code, number):
    """The smaller mesh of a file that the desk sees."""
    desk = open_case(request.member, code)
    if not sees_files(desk):
        raise PermissionDenied
    found = preview_of(file_for(desk, number))
    if found is None:
        raise Http404
    try:
        stream = opened(found.storage_key)
    except FileNotFoundError:
        raise Http404 from None
    response = FileResponse(stream, content_type="model/gltf-binary")
    response["Content-Length"] = str(found.size_bytes)
    return response


@require_GET
@members_only()
def lengths(request, code, number, file, name):
    """The lengths at the corners of a part's preview: 16-bit whole micrometres."""
    desk = open_case(request.member, code, area="design")
    _present(desk, number)
    file_for(desk, file)
    for row in drawn(desk.case).get("fields", []):
        if (row["file"], row["name"]) == (file_words(file), name):
            return HttpResponse(unpacked(row["um"]), content_type="application/octet-stream")
    raise Http404


@require_GET
@members_only()
def picture(request, code, number, index):
    """One of the pictures that were drawn of the present version when it was measured."""
    desk = open_case(request.member, code, area="design")
    _present(desk, number)
    pictures = drawn(desk.case).get("pictures", [])
    if index >= len(pictures):
        raise Http404
    return HttpResponse(base64.b64decode(pictures[index]["png"]), content_type="image/png")


def _present(desk, number):
    """Only the present version has what was drawn, and only for whoever sees it."""
    version = _version(desk, number)
    if version != current_version(desk.case):
        raise Http404
