"""The moves of a case as JSON: which there are, what stands against each, and making one."""

from django.core.exceptions import PermissionDenied
from django.http import Http404
from django.utils import timezone
from rest_framework import serializers
from rest_framework.response import Response
from rest_framework.views import APIView

from casework.cases.access import open_case
from casework.findings.queries import standing_of
from casework.handoffs.services import make_move
from casework.stages import NoSuchMove, find_move
from orders.refusals import Refused


def require_member(request):
    """The acting membership of a signed-in request."""
    member = getattr(request._request, "member", None)
    if member is None:
        raise PermissionDenied
    return member


class MoveInput(serializers.Serializer):
    """What a client sends to make a move; anything else is ignored."""

    reason = serializers.CharField(required=False, allow_blank=True, default="")
    password = serializers.CharField(required=False, allow_blank=True, default="")
    token = serializers.CharField(required=False, allow_blank=True, max_length=40, default="")
    source = serializers.CharField(required=False, allow_blank=True, default="")


def finding_as_json(finding):
    return {
        "check": finding.check,
        "weight": finding.weight,
        "subject": finding.subject,
        "wrong": finding.wrong,
        "to_do": finding.to_do,
        "measured": finding.measured,
        "limit": finding.limit,
        "source": finding.source,
        "answered": finding.answer.reason if finding.answer else None,
    }


class MoveList(APIView):
    """GET: the moves this member may make, and how their checks stand."""

    def get(self, request, code):
        desk = open_case(require_member(request), code)
        today = timezone.now().date()
        rows = []
        for move in desk.moves:
            standing = standing_of(desk.case, move, on=today)
            rows.append(
                {
                    "name": move.name,
                    "title": move.title,
                    "target": move.target,
                    "signed": move.signed,
                    "handoff": move.handoff,
                    "not_checked": [check.name for check in standing.not_run],
                    "findings": [finding_as_json(finding) for finding in standing.findings],
                }
            )
        return Response({"case": code, "stage": desk.case.stage, "moves": rows})


class MoveMake(APIView):
    """POST: make the move; 409 with the sentences where something stands against it."""

    def post(self, request, code, name):
        desk = open_case(require_member(request), code)
        data = MoveInput(data=request.data)
        data.is_valid(raise_exception=True)
        try:
            move = find_move(data.validated_data["source"] or desk.case.stage, name)
        except (NoSuchMove, ValueError):
            raise Http404 from None
        if not desk.may_move(move):
            raise PermissionDenied
        try:
            handoff = make_move(desk.case, name=name, by=desk.member, **data.validated_data)
        except Refused as refusal:
            return Response({"refused": refusal.sentences}, status=409)
        return Response(
            {"handoff": handoff and handoff.number, "state": handoff and handoff.state},
            status=201,
        )
