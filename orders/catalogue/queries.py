"""What does a party find in the catalogue: shared rows, and rows of its own?"""

from django.core.exceptions import PermissionDenied
from django.db.models import F, Q
from django.http import Http404

from orders.catalogue.models import Component, Material, System


def _seen_by(*parties):
    return Q(owner=None) | Q(owner__in=[party for party in parties if party])


def systems_for(*parties):
    """Systems that these parties see: the shared ones and their own."""
    return System.objects.filter(_seen_by(*parties)).order_by("name", "pk")


def names_in_catalogue(party):
    """What systems, connections, platforms and materials are called that a party sees."""
    rows = components_for(party).order_by().values_list("connection", "platform").distinct()
    named = {name for row in rows for name in row}
    for found in (systems_for(party), materials_for(party)):
        named.update(found.values_list("name", flat=True))
    return sorted(named)


def components_for(*parties, kind=None, system=None):
    """Components that these parties see, by kind and number; own rows first."""
    rows = Component.objects.filter(_seen_by(*parties)).select_related(
        "system", "driver", "owner"
    )
    if kind:
        rows = rows.filter(kind=kind)
    if system:
        rows = rows.filter(system=system)
    return rows.order_by("kind", F("owner").asc(nulls_last=True), "part_number")


def own_row(rows, pk):
    """A row to be written: one that is shown but shared is 403, what is not shown is 404."""
    row = rows.filter(pk=pk).first()
    if row is None:
        raise Http404
    if row.owner_id is None:
        raise PermissionDenied
    return row


def find_components(party, text="", kind=None):
    """Components whose number, name, connection or system holds the text."""
    rows = components_for(party, kind=kind)
    for word in text.split():
        rows = rows.filter(
            Q(part_number__icontains=word)
            | Q(name__icontains=word)
            | Q(connection__icontains=word)
            | Q(platform__icontains=word)
            | Q(system__name__icontains=word)
        )
    return rows


def fitting(kind, implant, *parties):
    """Components of a kind that fit an implant's connection and platform, as recorded."""
    rows = components_for(*parties, kind=kind)
    if implant is None or not implant.connection:
        return rows
    rows = rows.filter(connection=implant.connection)
    return rows.filter(platform__in=["", implant.platform]) if implant.platform else rows


def materials_for(*parties):
    """Materials that these parties see."""
    return (
        Material.objects.filter(_seen_by(*parties))
        .select_related("owner")
        .order_by("family", "name")
    )
