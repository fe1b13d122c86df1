"""Which handoffs does a desk see, and what do they hold?"""

import json

from django.http import Http404

from casework.handoffs.models import Notice
from casework.stages import Side


def handoffs_for(desk):
    """The handoffs of the case between this desk's party and another, newest first."""
    rows = desk.case.handoffs.select_related(
        "from_party", "to_party", "offered_by__person", "answered_by__person"
    ).prefetch_related("return_reasons", "conditions", "signatures")
    if desk.side != Side.PRACTICE:
        party = desk.member.party_id
        rows = rows.filter(from_party=party) | rows.filter(to_party=party)
    return rows.order_by("-number")


def handoff_for(desk, number):
    """One handoff by its number; raises Http404 where the desk does not see it."""
    handoff = handoffs_for(desk).filter(number=number).first()
    if handoff is None:
        raise Http404
    return handoff


def manifest_of(handoff):
    """The manifest as plain values, or None."""
    return json.loads(handoff.manifest) if handoff.manifest else None


def notices_of(member):
    """The newest notices of a member."""
    return (
        Notice.objects.filter(member=member)
        .select_related("case__order")
        .order_by("-made_at", "-pk")[:100]
    )
