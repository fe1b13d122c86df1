"""Which visits took place, which are due, and what is to be recorded at them?"""

from django.db.models import Q

from casework.cases.queries import sites_of
from casework.fabrication.queries import current_parts
from casework.visits import rules
from casework.visits.models import FollowUpStep
from orders.catalogue.models import Component
from orders.catalogue.queries import components_for


def template_of(practice):
    """The steps of a practice's follow-up visits: its own, or the usual ones."""
    own = FollowUpStep.objects.filter(practice=practice).values_list("amount", "unit")
    return tuple(own.order_by("pk")) or rules.TEMPLATE


def try_ins_of(case):
    """The try-ins of a case, newest first."""
    return case.try_ins.order_by("-number")


def screws_of(case):
    """What is recorded about the screws, by site."""
    return case.screws.select_related("component__driver").order_by("site")


def delivery_of(case):
    """The delivery's record, or None."""
    return getattr(case, "delivery", None)


def follow_ups_of(case):
    """The follow-up visits of a case, first one first."""
    return case.follow_ups.order_by("due_on", "pk")


def next_follow_up(case):
    """The first follow-up visit that is not done, or None."""
    return follow_ups_of(case).filter(done_on=None).first()


def overdue_follow_ups(case, today):
    """Follow-up visits whose day has passed."""
    return follow_ups_of(case).filter(done_on=None, due_on__lt=today)


def final_screws(case):
    """The final screws sent for the case, by site."""
    return {
        part.sites[0]: part
        for part in current_parts(case).filter(kind="retaining screw")
        if part.sites
    }


def screw_lines(case):
    """Each site with its record, the screw that was sent for it, and what is doubtful."""
    records = {screw.site: screw for screw in screws_of(case)}
    sent = final_screws(case)
    return [
        {
            "site": site,
            "record": records.get(site),
            "sent": sent.get(site),
            "doubts": doubts_of(records[site], sent.get(site)) if site in records else (),
        }
        for site in sites_of(case)
    ]


def doubts_of(screw, sent):
    """What is doubtful about a recorded screw, beside the one that was sent."""
    return rules.doubts_about_screw(
        torque_told_ncm=screw.component.torque_ncm,
        torque_ncm=screw.torque_ncm,
        tightened_at=screw.tightened_at,
        second_torque_ncm=screw.second_torque_ncm,
        second_at=screw.second_at,
        lot=screw.lot,
        lots_sent=[sent.lot] if sent else [],
    )


def screws_to_choose(case, party):
    """Retaining screws that may be recorded: those sent with the case, and the catalogue's."""
    sent = [part.component_id for part in final_screws(case).values() if part.component_id]
    return Component.objects.filter(
        Q(pk__in=sent) | Q(pk__in=components_for(party, kind="retaining screw").values("pk"))
    ).order_by("part_number", "pk")


def baseline_radiographs(case):
    """Radiographs of the case that can serve as baseline, newest first."""
    return case.evidence.filter(role="radiograph", superseded_at=None).order_by("-number")


def yearly_visits_of(case, count=3):
    """The yearly visits after the first year, for the patient's plan."""
    delivery = delivery_of(case)
    return rules.yearly_visits(delivery.on, count) if delivery else ()
