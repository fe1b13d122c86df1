"""The trail of a case: who, when, what, which version."""

from django.shortcuts import render

from casework.cases.access import open_case
from casework.cases.overview import trail_for
from orders.parties.access import members_only


@members_only()
def trail(request, code):
    desk = open_case(request.member, code, area="trail")
    context = {"desk": desk, "case": desk.case, "lines": trail_for(desk)[::-1]}
    return render(request, "casework/audit/trail.html", context)
