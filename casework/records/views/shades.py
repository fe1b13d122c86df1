"""The page on which the shade of a case is noted."""

from django.shortcuts import render
from django.utils.translation import gettext as _

from casework.cases.access import open_case
from casework.cases.pages import answer_form, typed_in
from casework.records import services
from casework.records.pages import initial_of
from orders.parties.access import members_only
from orders.shades.forms import ShadeForm
from orders.shades.queries import guides_of, last_shade_of, shade_of
from orders.typing_fields import today_at


@members_only()
def shade(request, code):
    desk = open_case(request.member, code, area="records")
    context = {"desk": desk, "case": desk.case, "shade": shade_of(desk.case.order)}
    return render(request, "casework/records/shade.html", context)


@members_only()
def shade_edit(request, code):
    desk = open_case(request.member, code, act="record shade")
    note, practice = shade_of(desk.case.order), desk.case.order.practice
    if note is not None:
        initial = initial_of(note, ShadeForm)
    else:
        initial = {"taken_on": today_at(practice), "seen_revision": 0}
        if last := last_shade_of(practice):
            initial |= {"guide": last.guide, "light": last.light, "light_k": last.light_k}
    guides = guides_of(practice)
    form = ShadeForm(typed_in(request), initial=initial, party=practice, guides=guides)
    return answer_form(
        request,
        desk,
        form,
        act=lambda told: services.record_shade(desk.case, by=request.member, **told),
        done=_("The shade is noted."),
        to=("case_shade", code),
        template="casework/records/form.html",
        title=_("Shade"),
        back="case_shade",
        needs_guide=not guides,
    )
