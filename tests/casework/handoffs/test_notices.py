"""Who is told of what happened to a case, and is nobody told twice or not at all?"""

from datetime import timedelta

import pytest
from django.core import mail
from django.utils import timezone

from casework.cases.models import CaseParty
from casework.handoffs.models import Notice
from casework.handoffs.notices import receivers, tell
from casework.stages import Side

NOW = timezone.now()
TODAY = NOW.date()


@pytest.fixture
def assign(case):
    """Gives the laboratory's work on the case to a member who is away until a day."""

    def give(member, away_until=None):
        member.away_until = away_until
        member.save()
        CaseParty.objects.filter(case=case, side=Side.LABORATORY).update(assigned=member)

    return give


def test_the_assigned_member_alone_is_told(
    case, assign, technician, second_technician, lab_lead
):
    assign(technician)

    assert receivers(case, Side.LABORATORY, NOW) == [technician]


def test_the_coordinator_is_told_when_the_assigned_member_is_away(
    case, assign, technician, second_technician, lab_lead
):
    """On the last day away as well; on the day after no more."""
    assign(technician, away_until=TODAY)

    assert receivers(case, Side.LABORATORY, NOW) == [technician, lab_lead]
    assert receivers(case, Side.LABORATORY, NOW + timedelta(days=1)) == [technician]


def test_a_coordinator_who_is_away_is_told_once(case, assign, lab_lead):
    assign(lab_lead, away_until=TODAY)

    assert receivers(case, Side.LABORATORY, NOW) == [lab_lead]


def test_where_nobody_is_assigned_all_who_do_the_work_are_told(
    case, technician, second_technician, lab_lead
):
    told = receivers(case, Side.LABORATORY, NOW)

    assert told == [technician, second_technician, lab_lead]


def test_where_the_assigned_member_left_the_others_are_told(
    case, assign, technician, second_technician
):
    assign(technician)
    technician.is_active = False
    technician.save()

    assert receivers(case, Side.LABORATORY, NOW) == [second_technician]


def test_both_find_a_notice_and_a_mail_of_an_event_once(
    case, assign, technician, lab_lead, run_jobs
):
    assign(technician, away_until=TODAY)

    for _time in range(2):
        tell(case, side=Side.LABORATORY, event="handoff 1 offered", text="offered", at=NOW)
    run_jobs()

    assert set(Notice.objects.values_list("member", flat=True)) == {technician.pk, lab_lead.pk}
    written = sorted(address for message in mail.outbox for address in message.to)
    assert written == sorted([technician.person.email, lab_lead.person.email])
