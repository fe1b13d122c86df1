"""Is the gate checked yet, what was measured, and which limits does a practice keep?"""

from django.core.exceptions import PermissionDenied
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _

from casework.cases.access import open_case
from casework.cases.pages import answer_form, typed_in
from casework.findings import services
from casework.findings.forms import LimitForm
from casework.findings.measure_pages import page_for, sees_measures
from casework.findings.models import GateRun
from casework.findings.queries import limit_rows
from orders.jobs.queries import pending
from orders.parties.access import members_only
from orders.roles import PartyKind, Role
from orders.typing_fields import today_at


@members_only()
def gate(request, code, pk):
    """A small piece of page that asks again until the gate is checked."""
    desk = open_case(request.member, code)
    run = get_object_or_404(GateRun, pk=pk, case=desk.case)
    if run.state == "done":
        response = HttpResponse()
        response["HX-Refresh"] = "true"
        return response
    job = pending("findings.gate", [run.pk]).get(run.pk)
    context = {"case": desk.case, "waiting": run, "progress": job.progress if job else ""}
    return render(request, "casework/findings/_waiting.html", context)


@members_only()
def measures(request, code):
    """Every measured value of a case; a press has measured what waits."""
    desk = open_case(request.member, code)
    if not sees_measures(desk):
        raise PermissionDenied
    if request.method == "POST":
        services.ask_for_measures(desk.case, by=desk.member)
        return redirect("case_measures", code)
    context = {
        "desk": desk,
        "case": desk.case,
        "measures": page_for(desk),
        "may_measure": desk.may("ask for checks"),
    }
    return render(request, "casework/findings/measures.html", context)


@members_only(Role.ADMINISTRATOR)
def party_limits(request):
    """What the checks measure against; a case is judged by its practice's limits."""
    party = request.member.party
    if party.kind != PartyKind.PRACTICE:
        raise PermissionDenied
    return answer_form(
        request,
        None,
        LimitForm(typed_in(request), party=party),
        template="casework/findings/limits.html",
        rows=limit_rows(party, today_at(party)),
        act=lambda typed: services.set_limit(by=request.member, **typed),
        done=_("The limit is entered; it counts from today on."),
        to=("party_limits",),
    )
