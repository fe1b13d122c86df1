"""How are try-in, delivery and follow-up visits recorded, and what follows from them?"""

from zoneinfo import ZoneInfo

from django.core.exceptions import PermissionDenied
from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from casework.audit.services import record
from casework.cases.access import require
from casework.cases.models import Case
from casework.cases.queries import sites_of
from casework.cases.services import open_case_for, refresh_summary
from casework.fabrication.services import mark_tried_in
from casework.readings.services import record_readings
from casework.visits import rules
from casework.visits.models import Delivery, FollowUp, FollowUpStep, ScrewRecord, TryIn
from casework.visits.queries import (
    baseline_radiographs,
    delivery_of,
    doubts_of,
    final_screws,
    screws_to_choose,
    template_of,
)
from orders.records import remove_record, save_record
from orders.refusals import Refused
from orders.roles import PartyKind, Role


def _refuse(objections):
    if objections := tuple(objections):
        raise Refused(*(_(sentence) for sentence in objections))


def _locked(case):
    return (
        Case.objects.select_for_update(of=("self",), no_key=True)
        .select_related("order__patient")
        .get(pk=case.pk)
    )


def _fill(record_, said, known):
    """Set the named fields; the others keep what they say."""
    if unknown := set(said) - set(known):
        raise TypeError(f"no such fields: {sorted(unknown)}")
    for name, value in said.items():
        setattr(record_, name, value)


def _keep_appointment(case, kind, by, on):
    """The visit booked for that day, or for one before it, took place."""
    zone = ZoneInfo(case.order.practice.time_zone)
    for visit in case.appointments.filter(kind=kind, state="booked"):
        if visit.at.astimezone(zone).date() <= on:
            visit.state = "done"
            save_record(visit, by=by, case=case.code)


_TRY_IN = (*TryIn.QUESTIONS, "adjustments", "needs_repolish", "note")


def record_try_in(
    case, *, by, on, number=None, clinician="", seen_revision=None, at=None, **said
):
    """Record the present try-in, or the next revision of one.

    `said` are the questions of rules.TRY_IN_QUESTIONS ("yes", "no", "not applicable") and
    adjustments, needs_repolish, note.
    """
    at = at or timezone.now()
    with transaction.atomic():
        case = _locked(case)
        require(case, by, "record try-in")
        number = number or max(case.try_in_count, 1)
        row = case.try_ins.filter(number=number).first() or TryIn(case=case, number=number)
        _fill(row, {"on": on, **said}, ("on", *_TRY_IN))
        row.by = clinician or row.by or by.person.name
        _refuse(
            rules.objections_to_try_in(
                on=on,
                today=at.date(),
                answers={name: getattr(row, name) for name in TryIn.QUESTIONS},
                said=row.adjustments + row.note,
            )
        )
        save_record(row, by=by, case=case.code, seen_revision=seen_revision)
        mark_tried_in(case, by=by)
        _keep_appointment(case, "try-in", by, on)
        refresh_summary(case)
    return row


_SCREW = (
    "lot",
    "was_new",
    "torque_ncm",
    "tightened_at",
    "second_torque_ncm",
    "second_at",
    "channel_closed_with",
)


def record_screw(case, *, by, site, component=None, seen_revision=None, at=None, **said):
    """Record the screw left in at a site: part, lot, both tightenings, what closes the channel.

    What is not named keeps what it says: the second tightening is added ten minutes later.
    Without `component` and `lot` those of the screw that was sent are taken.
    """
    at = at or timezone.now()
    with transaction.atomic():
        case = _locked(case)
        require(case, by, "record delivery")
        row = case.screws.filter(site=site).first() or ScrewRecord(case=case, site=site)
        _fill(row, said, _SCREW)
        sent = final_screws(case).get(site)
        component = component or (row.component if row.component_id else None)
        row.component = component = component or (sent.component if sent else None)
        row.lot = row.lot or (sent.lot if sent else "")
        if component is None:
            raise Refused(_("Name the screw by its part number."))
        if not screws_to_choose(case, by.party).filter(pk=component.pk).exists():
            raise Refused(
                _("{part} is no retaining screw of this case or your catalogue.").format(
                    part=component
                )
            )
        if not row.lot:
            raise Refused(_("Type the lot of the screw as it is printed on its bag."))
        _refuse(
            rules.objections_to_screw(
                site=site,
                sites=sites_of(case),
                component_kind=component.kind,
                torque_ncm=row.torque_ncm,
                tightened_at=row.tightened_at,
                second_torque_ncm=row.second_torque_ncm,
                second_at=row.second_at,
                now=at,
            )
        )
        save_record(row, by=by, case=case.code, seen_revision=seen_revision)
        refresh_summary(case)
    return row


def doubts_after(screw):
    """What is doubtful about a screw that was just recorded."""
    return doubts_of(screw, final_screws(screw.case).get(screw.site))


DELIVERY_FIELDS = (
    "cement",
    "excess_checked",
    "excess_checked_how",
    "bite_after",
    "baseline_radiograph",
    "baseline_reason",
    "instructions_given",
    "implant_record_given",
    "note",
)


def record_delivery(case, *, by, on, clinician="", seen_revision=None, at=None, **said):
    """Record what was done when the work was left in the mouth, or the next revision of it."""
    at = at or timezone.now()
    with transaction.atomic():
        case = _locked(case)
        require(case, by, "record delivery")
        row = delivery_of(case) or Delivery(case=case)
        _fill(row, {"on": on, **said}, ("on", *DELIVERY_FIELDS))
        row.by = clinician or row.by or by.person.name
        radiograph = row.baseline_radiograph
        if radiograph and not baseline_radiographs(case).filter(pk=radiograph.pk).exists():
            raise Refused(_("The baseline must be a current radiograph of this case."))
        _refuse(
            rules.objections_to_delivery(
                on=on,
                today=at.date(),
                has_baseline=radiograph is not None,
                baseline_reason=row.baseline_reason,
                cement=row.cement,
                excess_checked=row.excess_checked,
                excess_checked_how=row.excess_checked_how,
            )
        )
        save_record(row, by=by, case=case.code, seen_revision=seen_revision)
        _keep_appointment(case, "delivery", by, on)
        refresh_summary(case)
    return row


def clear_delivery(case, *, by, reason):
    """Take back what was recorded of a delivery that was broken off; the trail keeps it.

    Runs in the transaction of the move that sends the work back, so that old torques never
    stand for screws that will be tightened again.
    """
    rows = [*case.screws.all(), *Delivery.objects.filter(case=case)]
    for row in rows:
        remove_record(row, by=by, case=case.code, reason=reason)


def plan_follow_ups(case, *, by, at=None):
    """Lay out the follow-up visits by the practice's template, in the move's transaction."""
    delivery = delivery_of(case)
    if delivery is None:
        raise Refused(_("The delivery is not recorded. Record it first: visits count from it."))
    planned = {visit.name: visit for visit in case.follow_ups.all()}
    for due in rules.follow_up_plan(delivery.on, template_of(case.order.practice)):
        visit = planned.get(due.name) or FollowUp(case=case, name=due.name)
        if visit.done_on or visit.pk and visit.due_on == due.on:
            continue
        visit.due_on = due.on
        save_record(visit, by=by, case=case.code)
    return list(case.follow_ups.order_by("due_on", "pk"))


_FOLLOW_UP = ("outcome", *rules.FOLLOW_UP_QUESTIONS, "note")


def record_follow_up(
    follow_up, *, by, done_on, readings=(), clinician="", seen_revision=None, at=None, **said
):
    """Record a follow-up visit with what was measured at it; all of it, or nothing.

    `said` are outcome, bite, screws_tight, chipping, note; `readings` as for record_readings.
    """
    at = at or timezone.now()
    with transaction.atomic():
        case = _locked(follow_up.case)
        require(case, by, "record follow-up")
        row = FollowUp.objects.get(pk=follow_up.pk, case=case)
        _fill(row, said, _FOLLOW_UP)
        row.done_on, row.done_by = done_on, clinician or by.person.name
        delivery = delivery_of(case)
        _refuse(
            rules.objections_to_follow_up(
                done_on=done_on,
                today=at.date(),
                delivered_on=delivery.on if delivery else None,
                outcome=row.outcome,
                answers={name: getattr(row, name) for name in rules.FOLLOW_UP_QUESTIONS},
                note=row.note,
            )
        )
        save_record(row, by=by, case=case.code, seen_revision=seen_revision)
        if readings:
            told = [{"measured_on": done_on} | reading for reading in readings]
            record_readings(case, by=by, readings=told, at=at)
        _keep_appointment(case, row.name, by, done_on)
        refresh_summary(case)
    return row


def open_linked_case(case, *, by, reason, at=None):
    """A complication or a remake is a new case of the same patient that names this one."""
    with transaction.atomic():
        case = _locked(case)
        require(case, by, "link case")
        if not reason.strip():
            raise Refused(_("Say why a new case is opened: what happened, and at which site."))
        if len(reason) > 200:
            raise Refused(_("Say it in at most 200 characters; details belong to the visit."))
        return open_case_for(
            case.order.patient,
            by=by,
            laboratory=case.order.laboratory,
            linked_to=case.order,
            link_reason=reason,
            at=at,
        )


def change_template(*, by, steps, at=None):
    """Set when a practice sees its patients after delivery; visits planned by now stay."""
    if by.party.kind != PartyKind.PRACTICE or not by.has(Role.ADMINISTRATOR, Role.DENTIST):
        raise PermissionDenied
    steps = [(int(amount), unit) for amount, unit in steps]
    _refuse(rules.objections_to_template(steps))
    with transaction.atomic():
        FollowUpStep.objects.filter(practice=by.party).delete()
        FollowUpStep.objects.bulk_create(
            FollowUpStep(practice=by.party, amount=amount, unit=unit) for amount, unit in steps
        )
        record(
            "follow_ups.changed",
            subject=f"{by.party._meta.label}:{by.party_id}",
            by=by,
            facts={"steps": ", ".join(rules.name_of(*step) for step in steps)},
            at=at,
        )
