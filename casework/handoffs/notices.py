"""Who is told what? In the program at once, by mail from a job, without patient data."""

from django.conf import settings
from django.core.mail import EmailMessage
from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from casework.cases.models import CaseParty
from casework.handoffs.models import Notice
from casework.stages import Side
from orders.jobs.services import enqueue, finish
from orders.parties.queries import members_with
from orders.roles import Role

TOLD = {
    Side.PRACTICE: (Role.DENTIST,),
    Side.LABORATORY: (Role.TECHNICIAN, Role.COORDINATOR),
    Side.SCAN_CENTRE: (Role.SCAN_PROCESSOR, Role.COORDINATOR),
    Side.MILLING_CENTRE: (Role.MILLER, Role.COORDINATOR),
}


def receivers(case, side, at):
    """The assigned member; with the coordinators where away; else all who do that work."""
    seat = (
        CaseParty.objects.filter(case=case, side=side)
        .select_related("assigned__person", "party")
        .first()
    )
    if seat is None:
        return []
    assigned = seat.assigned
    if assigned is None or not assigned.is_active:
        return members_with(seat.party, *TOLD[Side(side)])
    if assigned.away_until and assigned.away_until >= at.date():
        leads = members_with(seat.party, Role.COORDINATOR)
        return [assigned, *(lead for lead in leads if lead.pk != assigned.pk)]
    return [assigned]


def tell(case, *, side, event, text, at=None, also=()):
    """Tell a side of the case once about one event, inside the caller's transaction."""
    at = at or timezone.now()
    for member in {m.pk: m for m in (*receivers(case, side, at), *also)}.values():
        notice, is_new = Notice.objects.get_or_create(
            member=member,
            event=event,
            defaults={"case": case, "text": text, "made_at": at},
        )
        if is_new:
            enqueue("notices.mail", notice.pk)


def mail_notice(notice_id, job):
    """Send one notice by mail. The row is marked before sending: a worker that dies in between
    leaves one mail unsent, and the notice stands in the program; never are two sent.
    """
    notice = Notice.objects.select_related("member__person", "case__order").get(pk=notice_id)
    unsent = Notice.objects.filter(pk=notice_id, mailed_at=None)
    if unsent.update(mailed_at=timezone.now()):
        try:
            _message(notice).send()
        except OSError as problem:
            Notice.objects.filter(pk=notice_id).update(
                mailed_at=None, mail_problem=str(problem)[:500]
            )
            raise
    with transaction.atomic():
        finish(job)


def _message(notice):
    person = notice.member.person
    address = f"{settings.SITE_ADDRESS}/cases/{notice.case.code}/"
    body = _("{text}\n\nCase {code}: {address}\n").format(
        text=notice.text, code=notice.case.code, address=address
    )
    return EmailMessage(
        subject=_("Case {code}: {text}").format(code=notice.case.code, text=notice.text),
        body=body,
        to=[person.email],
        headers={"Message-ID": f"<notice-{notice.pk}@casework>"},
    )
