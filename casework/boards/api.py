"""Where are cases read as JSON? Reading only; acts are posted elsewhere."""

from django.http import Http404
from rest_framework.permissions import BasePermission
from rest_framework.response import Response
from rest_framework.views import APIView

from casework.boards import queries
from casework.boards.serializers import SummarySerializer
from casework.cases.access import open_case


class IsMember(BasePermission):
    """Signed in, and a member of the party the session acts for."""

    def has_permission(self, request, view):
        return getattr(request._request, "member", None) is not None


class CaseList(APIView):
    """The party's cases, fifty at a time; `further` is the next page's `after`."""

    permission_classes = [IsMember]

    def get(self, request):
        page = queries.case_list(
            request._request.member,
            is_open=request.query_params.get("over") != "yes",
            text=request.query_params.get("q", "")[:80].replace("\x00", ""),
            after=request.query_params.get("after", ""),
        )
        rows = SummarySerializer(page.rows, many=True).data
        return Response({"cases": rows, "further": page.further})


class CaseDetail(APIView):
    """One case as its row on the boards says it."""

    permission_classes = [IsMember]

    def get(self, request, code):
        member = request._request.member
        desk = open_case(member, code, area="overview")
        row = queries.summary_for(member, desk.case.code)
        if row is None:
            raise Http404
        sentence = queries.turn_of_case(desk.case).sentence
        return Response(SummarySerializer(row).data | {"sentence": sentence})
