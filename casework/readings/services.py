"""What is done with readings, scan bodies and the bite note: recorded and corrected."""

from django.db import IntegrityError, transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from casework.audit.services import record
from casework.cases.access import require
from casework.cases.queries import sites_of
from casework.evidence.inspection import have_measured
from casework.readings import rules
from casework.readings.models import BiteNote, Pointed, Reading, ScanBodyUse
from casework.readings.queries import SCAN_WITH_BODIES, pointed_of
from orders.catalogue.parts import SCAN_BODY
from orders.implants.queries import implant_at
from orders.records import remove_record, save_record, save_single
from orders.refusals import Refused
from orders.teeth import read_tooth

_SCAN_BODY = (
    "lot",
    "use_count",
    "torque_ncm",
    "tightened_how",
    "placed_on",
    "radiograph",
    "seating_reason",
    "seating_by",
)
_BITE = (
    "position",
    "seated",
    "support_behind",
    "jaws_aligned",
    "foil_held_at",
    "taken_on",
    "note",
)


def record_readings(case, *, by, readings, at=None):
    """Record several readings at once: all of them, or none where one cannot be.

    Each is a dictionary: site, quantity, value, direction, held, measured_on, measured_by,
    note; what does not apply is left out.
    """
    at = at or timezone.now()
    with transaction.atomic():
        require(case, by, "record readings")
        if not readings:
            raise Refused(_("Type at least one reading."))
        rows = [Reading(case=case, **_filled(told, by)) for told in readings]
        sentences = [
            _("Row {place}: {sentence}").format(place=place, sentence=sentence)
            for place, row in enumerate(rows, 1)
            for sentence in _objections(row, at)
        ]
        if sentences:
            raise Refused(*sentences)
        return [save_record(row, by=by, case=case.code) for row in rows]


def change_reading(case, *, by, reading, seen_revision=None, at=None, **typed):
    """Correct one reading; its earlier revision stays in the trail."""
    at = at or timezone.now()
    with transaction.atomic():
        require(case, by, "record readings")
        for name, value in typed.items():
            setattr(reading, name, value)
        if sentences := _objections(reading, at):
            raise Refused(*sentences)
        return save_record(reading, by=by, case=case.code, seen_revision=seen_revision)


def remove_reading(case, *, by, reading, reason):
    """Take out a reading entered by mistake."""
    with transaction.atomic():
        require(case, by, "record readings")
        _need_reason(case, reason)
        remove_record(reading, by=by, case=case.code, reason=reason)


def record_scan_body(
    case, *, by, site, component, scan_body=None, seen_revision=None, at=None, **typed
):
    """Record the scan body placed at a site, and how its seating is known."""
    at = at or timezone.now()
    _require_known(typed, _SCAN_BODY)
    with transaction.atomic():
        require(case, by, "record scan bodies")
        read_tooth(site, "iso")
        use = scan_body or ScanBodyUse(case=case)
        use.site, use.component = site, component
        for name, value in typed.items():
            setattr(use, name, value)
        if sentences := tuple(_objections_to_use(use, case, by, at)):
            raise Refused(*sentences)
        try:
            with transaction.atomic():
                return save_record(use, by=by, case=case.code, seen_revision=seen_revision)
        except IntegrityError:
            raise Refused(
                _("A scan body is recorded at {site} (ISO 3950) already. Correct it.").format(
                    site=site
                )
            ) from None


def remove_scan_body(case, *, by, scan_body, reason):
    """Take out a scan body recorded by mistake."""
    with transaction.atomic():
        require(case, by, "record scan bodies")
        _need_reason(case, reason)
        remove_record(scan_body, by=by, case=case.code, reason=reason)


def point_at_scan_body(case, *, by, site, evidence, place, at=None):
    """Say where in a scan the scan body of a site stands; it is then looked for there.

    `place` in mm in the frame of the scan. The case is measured anew.
    """
    at = at or timezone.now()
    with transaction.atomic():
        require(case, by, "point at scan body")
        if site not in sites_of(case):
            raise Refused(
                _("No implant is ordered or recorded at {site} (ISO 3950).").format(site=site)
            )
        if not place:
            raise Refused(_("Press the scan body on the surface first, then save."))
        if evidence.role != SCAN_WITH_BODIES or not evidence.is_current:
            raise Refused(
                _("Point at it in the present scan with scan bodies, not in file {n}.").format(
                    n=evidence.number
                )
            )
        _point(case, evidence, site, place, by, at)


def take_back_pointing(case, *, by, site, at=None):
    """Take back where somebody pointed at a site: its scan body is looked for everywhere."""
    at = at or timezone.now()
    with transaction.atomic():
        require(case, by, "point at scan body")
        row = pointed_of(case).get(site)
        if row is None:
            raise Refused(
                _("Nobody pointed at the scan body at {site} (ISO 3950).").format(site=site)
            )
        _point(case, row.evidence, site, None, by, at)


def _point(case, evidence, site, place, by, at):
    row = Pointed.objects.create(
        case=case, evidence=evidence, site=site, place_mm=place, made_by=by, made_at=at
    )
    facts = {"site": site, "file": evidence.number}
    if place:
        facts["place_mm"] = [f"{x:.3f}" for x in place]
    record(
        "scan_body.pointed_at" if place else "scan_body.point_taken_back",
        subject=f"{row._meta.label}:{row.pk}",
        by=by,
        case=case.code,
        facts=facts,
        at=at,
    )
    have_measured(case)


def record_bite(case, *, by, seen_revision=None, at=None, **typed):
    """Write how the bite of the case was taken, or the next revision of it."""
    at = at or timezone.now()
    _require_known(typed, _BITE)
    with transaction.atomic():
        require(case, by, "record bite")
        note = BiteNote.objects.filter(case=case).first()
        if note is None:
            note = BiteNote(case=case)
        elif seen_revision is None:
            seen_revision = note.revision
        for name, value in typed.items():
            setattr(note, name, value)
        if note.position not in rules.BITE_POSITIONS:
            raise Refused(_("Choose the position of the jaws from the list."))
        if not note.seated:
            raise Refused(_("Say what was seated while the bite was taken, or 'nothing'."))
        if note.taken_on is None or note.taken_on > at.date():
            raise Refused(_("Name the day the bite was taken, today at the latest."))
        return save_single(note, by=by, case=case.code, seen_revision=seen_revision)


def _filled(told, by):
    return {"measured_by": by.person.name} | told


def _objections(reading, at):
    implant = implant_at(reading.case.order.patient, reading.site)
    return rules.objections_to_reading(
        quantity=reading.quantity,
        value=reading.value,
        direction=reading.direction,
        held=reading.held,
        measured_on=reading.measured_on,
        today=at.date(),
        placed_on=implant.placed_on if implant else None,
    )


def _objections_to_use(use, case, by, at):
    if use.component.kind != SCAN_BODY:
        yield _("{part} is not a scan body.").format(part=use.component)
    if use.component.owner_id not in (None, by.party_id):
        yield _("This component is not in your catalogue.")
    if use.radiograph is not None and use.radiograph.case_id != case.pk:
        yield _("The radiograph is not a file of this case.")
    if use.placed_on is None or use.placed_on > at.date():
        yield _("Name the day the scan body was placed, today at the latest.")
    if use.tightened_how and use.tightened_how not in rules.TIGHTENED_HOW:
        yield _("Choose how it was tightened from the list.")
    if use.torque_ncm is not None and use.tightened_how == "driver by hand":
        yield _("A driver turned by hand shows no torque. Leave the torque empty.")
    yield from rules.objections_to_seating(
        has_radiograph=use.radiograph is not None,
        reason=use.seating_reason,
        by=use.seating_by,
    )


def _need_reason(case, reason):
    if not reason.strip():
        raise Refused(_("Say why it is taken out."))


def _require_known(typed, fields):
    if unknown := set(typed) - set(fields):
        raise TypeError(f"no such fields: {sorted(unknown)}")
