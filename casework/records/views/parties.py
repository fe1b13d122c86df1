"""The page on which the parties of a case are chosen."""

from django.core.exceptions import PermissionDenied
from django.shortcuts import render
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from casework.cases import rules
from casework.cases.access import open_case
from casework.cases.pages import answer_form, typed_in
from casework.cases.queries import seat_on
from casework.cases.services import choose_party
from casework.records.forms import PartyForm
from casework.stages import Side
from orders.parties.access import members_only
from orders.parties.queries import partners_of

SIDES = (Side.LABORATORY, Side.SCAN_CENTRE, Side.MILLING_CENTRE, "placing practice")
WORDS = {
    Side.LABORATORY: gettext_lazy("Laboratory"),
    Side.SCAN_CENTRE: gettext_lazy("Scan centre"),
    Side.MILLING_CENTRE: gettext_lazy("Milling centre"),
    "placing practice": gettext_lazy("Placing practice"),
}


@members_only()
def parties(request, code):
    desk = open_case(request.member, code, area="handoffs")
    may_see = desk.side == Side.PRACTICE
    seats = [
        (str(side), WORDS[side], seat_on(desk.case, side))
        for side in SIDES
        if may_see or side in (desk.side, Side.LABORATORY)
    ]
    context = {
        "desk": desk,
        "case": desk.case,
        "seats": seats,
        "may_choose": any(desk.may(_act(side)) for side in SIDES),
    }
    return render(request, "casework/records/parties.html", context)


@members_only()
def party_choose(request, code):
    """A practice chooses its partners; the laboratory chooses who mills for it."""
    desk = open_case(request.member, code)
    # Whose act it is; when it may be done is for the service to say.
    roles = request.member.role_set
    sides = [side for side in SIDES if rules.may_act(_act(side), desk.side, roles)]
    if not sides:
        raise PermissionDenied
    partners = [
        (str(side), WORDS[side], party)
        for side in sides
        for party in partners_of(request.member.party, side)
    ]
    form = PartyForm(typed_in(request), partners=partners)
    return answer_form(
        request,
        desk,
        form,
        act=lambda told: [
            choose_party(desk.case, side=side, party=party, by=request.member)
            for side, party in form.chosen()
        ],
        done=_("The parties are chosen. They see the case once something is offered to them."),
        to=("case_parties", code),
        template="casework/records/form.html",
        title=_("Who works on this case"),
        back="case_parties",
        text="" if partners else _("Your party has agreed with no partner for this yet."),
    )


def _act(side):
    return "choose milling centre" if side == Side.MILLING_CENTRE else "choose parties"
