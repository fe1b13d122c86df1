"""Pages that record try-in, screws, delivery and follow-up visits."""

from django.core.exceptions import PermissionDenied
from django.http import Http404
from django.shortcuts import get_object_or_404
from django.utils.translation import gettext as _

from casework.cases.access import open_case
from casework.cases.pages import answer_form, typed_in
from casework.cases.queries import sites_of
from casework.visits import queries, rules, services
from casework.visits.cautions import CAUTIONS
from casework.visits.forms import (
    DeliveryForm,
    FollowUpForm,
    LinkForm,
    ScrewForm,
    TemplateForm,
    TryInForm,
)
from orders.parties.access import members_only
from orders.roles import Role
from orders.teeth import Notation, write_tooth
from orders.typing_fields import today_at

RECORD = "casework/visits/record.html"


def _cautions(*names):
    return [_(CAUTIONS[name]) for name in (*names, "decides")]


def _today(member):
    return {"on": today_at(member.party)}


def _initial(row, names):
    found = {name: getattr(row, name) for name in names}
    return found | {"clinician": row.by, "seen_revision": row.revision}


@members_only()
def try_in(request, code, number):
    desk = open_case(request.member, code, area="visits", act="record try-in")
    case = desk.case
    if not 1 <= number <= max(case.try_in_count, 1):
        raise Http404
    row = case.try_ins.filter(number=number).first()
    names = ("on", *row.QUESTIONS, "adjustments", "needs_repolish", "note") if row else ()
    form = TryInForm(
        typed_in(request),
        party=request.member.party,
        initial=_initial(row, names) if row else _today(request.member),
    )
    return answer_form(
        request,
        desk,
        form,
        template=RECORD,
        title=_("Try-in {number}").format(number=number),
        cautions=_cautions("small_parts", "integration", "hygiene"),
        act=lambda typed: services.record_try_in(
            case, by=request.member, number=number, **typed
        ),
        done=_("The try-in is recorded."),
        to=("case_visits", code),
    )


@members_only()
def screw(request, code, site):
    desk = open_case(request.member, code, area="visits", act="record delivery")
    case, party = desk.case, request.member.party
    if site not in sites_of(case):
        raise Http404
    row = queries.screws_of(case).filter(site=site).first()
    sent = queries.final_screws(case).get(site)
    component = (row or sent) and (row or sent).component
    form = ScrewForm(
        typed_in(request),
        party=party,
        components=queries.screws_to_choose(case, party),
        initial=ScrewForm.initial_of(row, party.time_zone) if row else {"was_new": True},
    )
    return answer_form(
        request,
        desk,
        form,
        template="casework/visits/screw.html",
        title=_("Screw at {site}").format(site=_said(site, party)),
        sent=sent,
        component=component,
        cautions=_cautions("small_parts", "torque"),
        act=lambda typed: services.record_screw(
            case, by=request.member, site=site, **_kept(form.said())
        ),
        done=_("The screw is recorded."),
        warn=services.doubts_after,
        to=("case_visits", code),
    )


def _kept(said):
    """Empty part and lot mean those that were sent; the service fills them in."""
    if not said["lot"]:
        del said["lot"]
    return said


def _said(site, party):
    return write_tooth(site, Notation(party.notation))


@members_only()
def delivery(request, code):
    desk = open_case(request.member, code, area="visits", act="record delivery")
    case = desk.case
    row = queries.delivery_of(case)
    form = DeliveryForm(
        typed_in(request),
        party=request.member.party,
        radiographs=queries.baseline_radiographs(case),
        initial=_initial(row, ("on", *services.DELIVERY_FIELDS))
        if row
        else _today(request.member),
    )
    return answer_form(
        request,
        desk,
        form,
        template=RECORD,
        title=_("Delivery"),
        cautions=_cautions("cement", "radiation", "small_parts"),
        act=lambda typed: services.record_delivery(case, by=request.member, **typed),
        done=_("The delivery is recorded."),
        to=("case_visits", code),
    )


@members_only()
def follow_up(request, code, pk):
    desk = open_case(request.member, code, area="visits", act="record follow-up")
    case, party = desk.case, request.member.party
    row = get_object_or_404(queries.follow_ups_of(case), pk=pk)
    names = ("done_on", "outcome", *rules.FOLLOW_UP_QUESTIONS, "note")
    form = FollowUpForm(
        typed_in(request),
        party=party,
        sites=sites_of(case),
        say_site=lambda site: _said(site, party),
        initial={name: getattr(row, name) for name in names}
        | {"done_on": row.done_on or today_at(party)}
        | {"clinician": row.done_by, "seen_revision": row.revision},
    )
    return answer_form(
        request,
        desk,
        form,
        template=RECORD,
        title=_("Visit after {name}").format(name=row.name),
        cautions=_cautions("integration", "radiation"),
        act=lambda typed: services.record_follow_up(
            row,
            by=request.member,
            done_on=typed["done_on"],
            clinician=typed["clinician"],
            seen_revision=typed["seen_revision"],
            readings=form.readings(),
            **form.said(),
        ),
        done=_("The visit is recorded."),
        warn=_warn_of_complication,
        to=("case_visits", code),
    )


def _warn_of_complication(row):
    if row.outcome == rules.COMPLICATION:
        yield _("A complication is a case of its own: open a linked case from this page.")


@members_only()
def linked(request, code):
    desk = open_case(request.member, code, area="visits", act="link case")
    form = LinkForm(typed_in(request), party=request.member.party)
    return answer_form(
        request,
        desk,
        form,
        title=_("Open a linked case"),
        act=lambda typed: services.open_linked_case(desk.case, by=request.member, **typed),
        done=_("A new case is open; it names this one."),
        to=lambda opened: ("case", opened.code),
    )


@members_only(Role.ADMINISTRATOR, Role.DENTIST)
def template(request):
    """When the practice sees its patients after delivery."""
    member = request.member
    if member.party.kind != "practice":
        raise PermissionDenied
    steps = queries.template_of(member.party)
    form = TemplateForm(
        typed_in(request), party=member.party, initial=TemplateForm.initial_of(steps)
    )
    return answer_form(
        request,
        None,
        form,
        template="casework/visits/template.html",
        act=lambda typed: services.change_template(by=member, steps=form.steps()),
        done=_("Follow-up visits of later deliveries are planned so."),
        to=("follow_up_template",),
    )
