"""How does a program, or the upload page's script, list and send the files of a case?"""

from django.core.exceptions import PermissionDenied
from django.http import Http404, JsonResponse
from django.views.decorators.csrf import csrf_exempt
from rest_framework.decorators import api_view, parser_classes
from rest_framework.parsers import FormParser, MultiPartParser
from rest_framework.response import Response

from casework.cases.access import open_case
from casework.evidence.forms import SlotForm
from casework.evidence.queries import files_for, sees_files
from casework.evidence.serializers import files_as_json, outcome_as_json
from casework.evidence.services import Slot
from casework.evidence.uploading import prepare, take_files
from orders.refusals import Refused


@csrf_exempt
def files(request, code):
    """Let nobody send a byte who may not; then the framework asks for session and token."""
    if request.method == "POST" and request.user.is_authenticated:
        try:
            open_case(_member(request), code, act="add evidence")
        except Http404:
            return JsonResponse({"detail": "Not found."}, status=404)
        except PermissionDenied:
            return JsonResponse({"detail": "Your role does not add files."}, status=403)
        handler = prepare(request)
        try:
            return _files(request, code)
        finally:
            handler.discard()
    return _files(request, code)


def _member(request):
    if request.member is None:
        raise PermissionDenied
    return request.member


@api_view(["GET", "POST"])
@parser_classes([MultiPartParser, FormParser])
def _files(request, code):
    if request.method == "POST":
        return _send(request, open_case(_member(request), code, act="add evidence"))
    desk = open_case(_member(request), code)
    if not sees_files(desk):
        raise PermissionDenied
    return Response({"files": files_as_json(files_for(desk), desk)})


def _send(request, desk):
    form = SlotForm(request.POST, party=request.member.party)
    if not form.is_valid():
        return Response({"detail": "Not taken.", "errors": form.errors}, status=422)
    try:
        outcomes = take_files(desk.case, request._request, slot=Slot(**form.cleaned_data))
    except Refused as refusal:
        return Response(
            {"detail": " ".join(refusal.sentences), "sentences": refusal.sentences},
            status=getattr(refusal, "status", 409),
        )
    taken = any(outcome.is_taken for outcome in outcomes)
    return Response(
        {"files": [outcome_as_json(outcome) for outcome in outcomes]},
        status=201 if taken else 422,
    )
