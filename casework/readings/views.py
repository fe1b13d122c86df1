"""Pages of readings, scan bodies and the bite of a case."""

from django.contrib import messages
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from casework.cases.access import open_case
from casework.cases.pages import answer_form, typed_in
from casework.cases.queries import sites_of
from casework.evidence.queries import file_for
from casework.readings import rules, services
from casework.readings.forms import (
    BiteForm,
    PointForm,
    ReadingDayForm,
    ReadingForm,
    ReadingRowForm,
    ScanBodyForm,
    UsualReadingForm,
)
from casework.readings.queries import (
    bite_of,
    last_bite_of,
    last_scan_body_of,
    radiographs_of,
    reading_of,
    readings_of,
    scan_bodies_of,
    scan_body_of,
)
from casework.records.pages import initial_of
from orders.catalogue.parts import SCAN_BODY
from orders.catalogue.queries import components_for, fitting
from orders.implants.forms import ReasonForm
from orders.implants.queries import implant_at, implants_of
from orders.parties.access import members_only
from orders.refusals import Refused
from orders.typing_fields import today_at

_FORM = "casework/records/form.html"
_SPARE_ROWS = 3
_ROWS_MOST = 40
# Proposed for each site; a row whose value stays empty says nothing.
_USUAL = (
    ("stability_quotient", "mesial"),
    ("stability_quotient", "buccal"),
    ("torque_test_ncm", "forward"),
)


@members_only()
def readings(request, code):
    desk = open_case(request.member, code, area="records")
    rows = [(row, rules.QUANTITIES.get(row.quantity)) for row in readings_of(desk.case)]
    context = {"desk": desk, "case": desk.case, "rows": rows}
    return render(request, "casework/readings/readings.html", context)


@members_only()
def readings_add(request, code):
    desk = open_case(request.member, code, act="record readings")
    rows, day = _reading_forms(request, desk)
    status, sentences = 200, []
    if request.method == "POST":
        status = 422
        if all([form.is_valid() for form in (*rows, day)]):
            told = [
                form.cleaned_data | day.cleaned_data for form in rows if form.says_something
            ]
            try:
                saved = services.record_readings(desk.case, by=request.member, readings=told)
            except Refused as refusal:
                status, sentences = 409, refusal.sentences
            else:
                messages.success(request, _("Readings recorded: %s.") % len(saved))
                return redirect("case_readings", code)
    context = {"desk": desk, "case": desk.case, "day": day}
    context["usual"] = [row for row in rows if isinstance(row, UsualReadingForm)]
    context["others"] = [row for row in rows if not isinstance(row, UsualReadingForm)]
    context |= {"sentences": sentences, "row_count": len(rows)}
    return render(request, "casework/readings/add.html", context, status=status)


def _reading_forms(request, desk):
    party, data = request.member.party, typed_in(request)
    implants = [row.site for row in implants_of(desk.case.order.patient)]
    usual = [
        {"site": site, "quantity": quantity, "direction": direction}
        for site in implants or sites_of(desk.case)
        for quantity, direction in _USUAL
    ]
    count = len(usual) + _SPARE_ROWS
    if data is not None and data.get("row_count", "").isdecimal():
        count = min(int(data["row_count"]), _ROWS_MOST)
    rows = []
    for place in range(count):
        is_usual = place < len(usual)
        made = UsualReadingForm if is_usual else ReadingRowForm
        row = _("Row %s") % (place + 1)
        initial = usual[place] if is_usual else None
        rows.append(made(data, prefix=f"row{place}", row=row, initial=initial, party=party))
    initial = {"measured_on": today_at(party), "measured_by": request.member.person.name}
    return rows, ReadingDayForm(data, initial=initial, party=party)


@members_only()
def reading(request, code, pk):
    desk = open_case(request.member, code, act="record readings")
    row = reading_of(desk.case, pk)
    form = ReadingForm(
        typed_in(request), initial=initial_of(row, ReadingForm), party=request.member.party
    )

    def act(told):
        return services.change_reading(desk.case, by=request.member, reading=row, **told)

    return answer_form(
        request,
        desk,
        form,
        act=act,
        done=_("The reading is corrected."),
        to=("case_readings", code),
        template=_FORM,
        title=_("Correct a reading"),
        back="case_readings",
        remove="case_reading_remove",
        record=row,
    )


@members_only()
def reading_remove(request, code, pk):
    desk = open_case(request.member, code, act="record readings")
    row = reading_of(desk.case, pk)
    return _removal(
        request,
        desk,
        lambda told: services.remove_reading(
            desk.case, by=request.member, reading=row, reason=told["reason"]
        ),
        "case_readings",
    )


def _removal(request, desk, act, back):
    return answer_form(
        request,
        desk,
        ReasonForm(typed_in(request), party=request.member.party),
        act=act,
        done=_("The record was taken out. The trail keeps what it said."),
        to=(back, desk.case.code),
        template=_FORM,
        title=_("Take out a record entered by mistake"),
        back=back,
        is_removal=True,
    )


@members_only()
def scan_bodies(request, code):
    desk = open_case(request.member, code, area="records")
    rows = list(scan_bodies_of(desk.case))
    placed = {row.site for row in rows}
    context = {
        "desk": desk,
        "case": desk.case,
        "rows": rows,
        "waiting": [site for site in sites_of(desk.case) if site not in placed],
    }
    return render(request, "casework/readings/scan_bodies.html", context)


@members_only()
def scan_body_add(request, code):
    desk = open_case(request.member, code, act="record scan bodies")
    rows = list(scan_bodies_of(desk.case))
    placed = {row.site for row in rows}
    waiting = [site for site in sites_of(desk.case) if site not in placed]
    wanted = request.GET.get("site", "")
    initial = {"site": wanted if wanted in waiting else next(iter(waiting), "")}
    initial |= {"placed_on": today_at(request.member.party)}
    if rows:
        last = max(rows, key=lambda row: row.pk)
        for name in ("component", "placed_on", "tightened_how", "torque_ncm"):
            initial[name] = getattr(last, name)
    elif last := last_scan_body_of(desk.case.order.practice):
        initial |= {"tightened_how": last.tightened_how, "torque_ncm": last.torque_ncm}
    if (shown := _radiographs_at(desk.case, initial["site"])) and len(shown) == 1:
        initial["radiograph"] = shown[0]
    return _scan_body_form(request, desk, None, initial)


def _radiographs_at(case, site):
    """The radiographs that are said to show the site."""
    return [row for row in radiographs_of(case) if site in row.sites]


@members_only()
def scan_body(request, code, pk):
    desk = open_case(request.member, code, act="record scan bodies")
    row = scan_body_of(desk.case, pk)
    return _scan_body_form(request, desk, row, initial_of(row, ScanBodyForm))


def _scan_body_form(request, desk, row, initial):
    party = request.member.party
    site = initial.get("site")
    implant = implant_at(desk.case.order.patient, site) if site else None
    # Those that fit come first; what was placed is recorded even where it does not fit.
    fits = fitting(SCAN_BODY, implant, party)
    if row is None and implant and len(fits) == 1:
        initial = initial | {"component": fits[0]}
    form = ScanBodyForm(
        typed_in(request),
        initial=initial,
        party=party,
        components=components_for(party, kind=SCAN_BODY),
        radiographs=radiographs_of(desk.case),
    )

    def act(told):
        return services.record_scan_body(desk.case, by=request.member, scan_body=row, **told)

    return answer_form(
        request,
        desk,
        form,
        act=act,
        done=_("The scan body is recorded."),
        to=("case_scan_bodies", desk.case.code),
        template=_FORM,
        title=_("Scan body at its site"),
        back="case_scan_bodies",
        remove="case_scan_body_remove" if row else "",
        record=row,
        fits=fits if implant else None,
    )


@members_only()
def scan_body_remove(request, code, pk):
    desk = open_case(request.member, code, act="record scan bodies")
    row = scan_body_of(desk.case, pk)
    return _removal(
        request,
        desk,
        lambda told: services.remove_scan_body(
            desk.case, by=request.member, scan_body=row, reason=told["reason"]
        ),
        "case_scan_bodies",
    )


@require_POST
@members_only()
def scan_body_point(request, code):
    """Where in a scan the scan body of a site stands, as pressed on its surface."""
    desk = open_case(request.member, code, area="scans", act="point at scan body")
    form = PointForm(request.POST, party=request.member.party, sites=sites_of(desk.case))
    if not form.is_valid():
        raise Refused(*(str(one) for errors in form.errors.values() for one in errors))
    site, place = form.cleaned_data["site"], form.cleaned_data["place"]
    told = {"by": request.member, "site": site}
    if form.cleaned_data["do"] == "take back":
        services.take_back_pointing(desk.case, **told)
        messages.success(request, _("Taken back: the scan body is looked for everywhere."))
    else:
        evidence = file_for(desk, form.cleaned_data["file"] or 0)
        services.point_at_scan_body(desk.case, evidence=evidence, place=place, **told)
        messages.success(
            request,
            _("The scan body is looked for there once every site of the scan was pointed at."),
        )
    return redirect("case_look", code)


@members_only()
def bite(request, code):
    desk = open_case(request.member, code, area="records")
    context = {"desk": desk, "case": desk.case, "bite": bite_of(desk.case)}
    return render(request, "casework/readings/bite.html", context)


@members_only()
def bite_edit(request, code):
    desk = open_case(request.member, code, act="record bite")
    note = bite_of(desk.case)
    initial = {"taken_on": today_at(request.member.party), "seen_revision": 0}
    if note is not None:
        initial = initial_of(note, BiteForm)
    elif last := last_bite_of(desk.case.order.practice):
        usual = ("position", "seated", "jaws_aligned")
        initial |= {name: getattr(last, name) for name in usual}
    form = BiteForm(typed_in(request), initial=initial, party=request.member.party)
    return answer_form(
        request,
        desk,
        form,
        act=lambda told: services.record_bite(desk.case, by=request.member, **told),
        done=_("How the bite was taken is recorded."),
        to=("case_bite", code),
        template=_FORM,
        title=_("How the bite was taken"),
        back="case_bite",
    )
