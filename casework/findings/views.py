"""Is the gate checked yet? A small piece of page that asks again until it is."""

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render

from casework.cases.access import open_case
from casework.findings.models import GateRun
from orders.parties.access import members_only


@members_only()
def gate(request, code, pk):
    desk = open_case(request.member, code)
    run = get_object_or_404(GateRun, pk=pk, case=desk.case)
    if run.state == "done":
        response = HttpResponse()
        response["HX-Refresh"] = "true"
        return response
    context = {"case": desk.case, "waiting": run}
    return render(request, "casework/findings/_waiting.html", context)
