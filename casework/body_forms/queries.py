"""Which mesh tells a scan body's form now, which did before, and who may read it?"""

from django.http import Http404

from casework.body_forms.models import BodyForm
from casework.evidence.queries import Download
from orders.catalogue.parts import SCAN_BODY
from orders.catalogue.queries import components_for, own_row


def own_scan_body(member, pk):
    """A scan body of the member's own party; a shared one is 403, any other thing is 404."""
    return own_row(components_for(member.party, kind=SCAN_BODY), pk)


def present_forms(components):
    """The present mesh of each of these components that has one, by the component's id."""
    rows = BodyForm.objects.filter(component__in=components, ended_at=None)
    return {row.component_id: row for row in rows}


def forms_of(component):
    """The present mesh (or None) of a scan body, and those before it, newest first."""
    rows = list(
        BodyForm.objects.filter(component=component)
        .select_related("received_by__person", "ended_by__person")
        .order_by("-pk")
    )
    present = next((row for row in rows if row.ended_at is None), None)
    return present, [row for row in rows if row is not present]


def download_of(component, pk):
    """The bytes of one of a scan body's meshes, as they came."""
    row = BodyForm.objects.filter(component=component, pk=pk).first()
    if row is None:
        raise Http404
    return Download(
        row.pk, row.original_name, row.storage_key, row.size_bytes, row.sha256, row.format
    )
