"""Who works where, and with whom does a party work?"""

from django.db.models import Q

from orders.parties.models import Membership, Partnership, Party
from orders.roles import Role


def memberships_of(person):
    """The active memberships of a person, in a steady order."""
    return list(
        Membership.objects.filter(person=person, is_active=True)
        .select_related("party", "person")
        .order_by("pk")
    )


def members_with(party, *roles):
    """Active members of a party who hold one of the roles."""
    rows = Membership.objects.filter(
        party=party, is_active=True, person__is_active=True
    ).select_related("person", "party")
    return [row for row in rows.order_by("pk") if not roles or row.has(*roles)]


def partners_of(practice, kind):
    """Parties of a kind the practice has agreed to work with."""
    return Party.objects.filter(
        pk__in=Partnership.objects.filter(practice=practice).values("partner"), kind=kind
    ).order_by("name")


def members_of(party):
    """Everybody who is or was a member of a party, those at work first."""
    return list(
        Membership.objects.filter(party=party)
        .select_related("person", "party")
        .order_by("-is_active", "person__name", "pk")
    )


def active_administrators(party):
    """The members who may change the party's members."""
    return members_with(party, Role.ADMINISTRATOR)


def partnerships_of(party):
    """The parties this one has agreed to work with, whoever of the two typed the code."""
    rows = Partnership.objects.filter(Q(practice=party) | Q(partner=party)).select_related(
        "practice", "partner"
    )
    return [
        {"party": row.partner if row.practice_id == party.pk else row.practice, "row": row}
        for row in rows.order_by("since")
    ]


def names_around(party):
    """Names of a party, of those it works with, and of all who are or were members of them."""
    parties = [party, *(row["party"] for row in partnerships_of(party))]
    people = Membership.objects.filter(party__in=parties)
    return [*(house.name for house in parties), *people.values_list("person__name", flat=True)]


def work_together(one, other):
    """Whether two parties have agreed to work together."""
    return Partnership.objects.filter(
        Q(practice=one, partner=other) | Q(practice=other, partner=one)
    ).exists()
