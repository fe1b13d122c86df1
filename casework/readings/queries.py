"""What was measured in the mouth of a case, where did scan bodies sit, how was it bitten?"""

from django.http import Http404

from casework.readings.models import BiteNote, Pointed, Reading, ScanBodyUse

SCAN_WITH_BODIES = "working_arch_scan_bodies"


def readings_of(case):
    """The readings of a case, newest day first."""
    return Reading.objects.filter(case=case).order_by("-measured_on", "site", "pk")


def reading_of(case, pk):
    row = Reading.objects.filter(case=case, pk=pk).first()
    if row is None:
        raise Http404
    return row


def scan_bodies_of(case):
    """The scan bodies of a case by site, with their parts and radiographs."""
    return (
        ScanBodyUse.objects.filter(case=case)
        .select_related("component__system", "radiograph")
        .order_by("site")
    )


def scan_body_of(case, pk):
    row = scan_bodies_of(case).filter(pk=pk).first()
    if row is None:
        raise Http404
    return row


def pointed_of(case):
    """Where somebody pointed at the scan bodies of present scans, by site."""
    rows = Pointed.objects.filter(
        case=case, evidence__role=SCAN_WITH_BODIES, evidence__superseded_at=None
    ).order_by("pk")
    newest = {row.site: row for row in rows}
    return {site: row for site, row in newest.items() if row.place_mm}


def bite_of(case):
    """The bite note of a case, or None."""
    return BiteNote.objects.filter(case=case).first()


def last_bite_of(practice):
    """The newest bite note of a practice: it is usually taken the same way again."""
    rows = BiteNote.objects.filter(case__order__practice=practice)
    return rows.order_by("-changed_at", "-pk").first()


def last_scan_body_of(practice):
    """The newest scan body of a practice: the next is usually tightened the same way."""
    rows = ScanBodyUse.objects.filter(case__order__practice=practice)
    return rows.order_by("-changed_at", "-pk").first()


def radiographs_of(case):
    """Current radiographs among the files of a case, for showing that scan bodies sit."""
    return case.evidence.filter(role="radiograph", superseded_at=None).order_by("number")
