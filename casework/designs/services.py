"""What is done with a design version: started, filled, submitted, marked, approved, voided?"""

from django.core.exceptions import PermissionDenied
from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from casework.audit.services import record
from casework.cases.access import require
from casework.cases.models import Case
from casework.cases.services import refresh_summary
from casework.designs import rules
from casework.designs.models import DesignPart, DesignVersion, ReviewMark
from casework.designs.queries import (
    current_version,
    digest_of_version,
    parts_of,
    stock_components,
    teeth_ordered,
)
from orders.catalogue.queries import materials_for
from orders.records import ChangedMeanwhile
from orders.refusals import Refused

__all__ = [
    "add_made_part",
    "add_stock_part",
    "approve_version",
    "current_version",
    "digest_of_version",
    "discard_version",
    "mark_version",
    "remove_part",
    "return_version",
    "save_notes",
    "start_version",
    "submit_version",
    "void_approval",
]


def _refuse(objections):
    if objections:
        raise Refused(*(_(sentence) for sentence in objections))


def _say(kind, version, *, by, at=None, **facts):
    record(
        kind,
        subject=version.subject,
        by=by,
        case=version.case.code,
        facts={"number": version.number, **facts},
        at=at,
    )


def start_version(case, *, by, notes="", at=None):
    """Start the next version; the stock parts of the last one come along."""
    at = at or timezone.now()
    with transaction.atomic():
        case = Case.objects.select_for_update(of=("self",), no_key=True).get(pk=case.pk)
        require(case, by, "make design")
        draft = case.designs.filter(state=rules.DRAFT).first()
        _refuse(rules.objections_to_start(draft.number if draft else None))
        last = case.designs.order_by("-number").first()
        version = DesignVersion.objects.create(
            case=case,
            number=last.number + 1 if last else 1,
            notes=notes,
            made_by=by,
            made_at=at,
        )
        for part in last.parts.exclude(component=None) if last else ():
            part.pk, part.version = None, version
            part.save(force_insert=True)
        _keep_digest(version)
        _say("design.started", version, by=by, at=at, notes=notes, digest=version.digest)
        refresh_summary(case)
    return version


def _keep_digest(version):
    version.digest = digest_of_version(version)
    version.save(update_fields=["digest"])


def _draft(version, by):
    """The version, locked, where this member may still change it."""
    version = (
        DesignVersion.objects.select_for_update(of=("self",), no_key=True)
        .select_related("case__order__patient")
        .get(pk=version.pk)
    )
    require(version.case, by, "make design")
    _refuse(rules.objections_to_change(version.state, version.number))
    return version


def _refuse_part(version, kind, sites):
    ordered, implant_sites = teeth_ordered(version.case)
    _refuse(
        rules.objections_to_part(
            kind=kind,
            sites=sites,
            ordered=ordered,
            implant_sites=implant_sites,
            others=[(part.kind, part.sites) for part in version.parts.all()],
        )
    )


def _add(version, part, by, at):
    part.version = version
    part.save(force_insert=True)
    _keep_digest(version)
    _say("design.changed", version, by=by, at=at, added=part.facts(), digest=version.digest)
    refresh_summary(version.case)
    return part


def add_made_part(version, *, by, kind, sites, evidence, material=None, at=None):
    """Add a part that will be made from an uploaded mesh."""
    with transaction.atomic():
        version = _draft(version, by)
        if evidence.case_id != version.case_id:
            raise PermissionDenied
        if kind in rules.STOCK:
            raise Refused(_("A {kind} is taken by part number.").format(kind=kind))
        _refuse_part(version, kind, sites)
        _refuse(
            rules.objections_to_file(
                role=evidence.role,
                is_own=evidence.party_id == by.party_id,
                is_current=evidence.is_current,
                state=evidence.state,
                number=evidence.number,
            )
        )
        if material and not materials_for(by.party).filter(pk=material.pk).exists():
            raise Refused(_("This material is not in your catalogue."))
        part = DesignPart(kind=kind, sites=list(sites), evidence=evidence, material=material)
        return _add(version, part, by, at)


def add_stock_part(version, *, by, kind, sites, component, at=None):
    """Add a base or a screw by its part number."""
    with transaction.atomic():
        version = _draft(version, by)
        if not stock_components(by.party).filter(pk=component.pk).exists():
            raise Refused(_("This part number is not in your catalogue."))
        _refuse(rules.objections_to_stock(kind, component.kind, str(component)))
        _refuse_part(version, kind, sites)
        part = DesignPart(kind=kind, sites=list(sites), component=component)
        return _add(version, part, by, at)


def remove_part(part, *, by, at=None):
    """Take a part out of a draft."""
    with transaction.atomic():
        version = _draft(part.version, by)
        facts = part.facts()
        version.parts.filter(pk=part.pk).delete()
        _keep_digest(version)
        _say("design.changed", version, by=by, at=at, removed=facts, digest=version.digest)
        refresh_summary(version.case)


def save_notes(version, *, by, notes, seen="", at=None):
    """Write the technician's notes. `seen` is the digest of the version as the page had it."""
    with transaction.atomic():
        version = _draft(version, by)
        if seen and seen != version.digest:
            raise ChangedMeanwhile(version)
        version.notes = notes
        version.save(update_fields=["notes"])
        _keep_digest(version)
        _say("design.changed", version, by=by, at=at, notes=notes, digest=version.digest)
    return version


def discard_version(version, *, by, reason, at=None):
    """Give a draft up; it stays on record as superseded."""
    at = at or timezone.now()
    with transaction.atomic():
        version = _draft(version, by)
        if not reason.strip():
            raise Refused(_("Say why this version is discarded."))
        _end(version, rules.DRAFT, rules.SUPERSEDED, by=by, reason=reason, at=at)
        refresh_summary(version.case)


def _end(version, source, target, *, by, reason, at):
    """Change the state where it is still `source`; somebody else may have been first."""
    rows = DesignVersion.objects.filter(pk=version.pk, state=source)
    if not rows.update(state=target, ended_at=at, end_reason=reason):
        raise Refused(
            _("Version {number} is {state} by now. Open it again.").format(
                number=version.number,
                state=DesignVersion.objects.get(pk=version.pk).state,
            )
        )
    version.refresh_from_db()
    _say("design.ended", version, by=by, at=at, state=target, reason=reason)


def submit_version(version, *, by, at):
    """Fix the version and its digest. Runs in the move's transaction."""
    if version is None:
        raise Refused(_("There is no design version yet. Start one."))
    kinds = [part.kind for part in parts_of(version)]
    _refuse(rules.objections_to_submit(version.state, version.number, kinds))
    rows = DesignVersion.objects.filter(pk=version.pk, state=rules.DRAFT)
    if not rows.update(
        state=rules.SUBMITTED, submitted_at=at, digest=digest_of_version(version)
    ):
        raise Refused(_("The version was submitted already."))
    version.refresh_from_db()
    _say("design.submitted", version, by=by, at=at, digest=version.digest)


def approve_version(version, *, by, at):
    """Let the dentist's approval count for this version. Runs in the move's transaction."""
    if version is None:
        raise Refused(_("There is no design version to approve."))
    _end(version, rules.SUBMITTED, rules.APPROVED, by=by, reason="", at=at)


def return_version(version, *, by, reason, at):
    """Give a submitted version back for changes. Runs in the move's transaction."""
    _end(version, rules.SUBMITTED, rules.RETURNED, by=by, reason=reason, at=at)


def void_approval(case, *, by, reason, at):
    """Take the force of the case's approvals; the versions stay in the history."""
    for version in case.designs.filter(state=rules.APPROVED):
        _end(version, rules.APPROVED, rules.VOIDED, by=by, reason=reason, at=at)


def mark_version(version, *, by, text, part=None, place=None, facing=None, at=None):
    """Say what the dentist wants changed on a version, on one of its parts, or at a place.

    `place` in mm in the frame of the scans; `facing` is the way the surface faces there.
    """
    at = at or timezone.now()
    case = version.case
    with transaction.atomic():
        require(case, by, "mark design")
        version = DesignVersion.objects.select_for_update(no_key=True).get(pk=version.pk)
        if version.state != rules.SUBMITTED:
            raise Refused(
                _(
                    "Version {number} is {state}; only one that waits for approval is marked."
                ).format(number=version.number, state=version.state)
            )
        if not text.strip():
            raise Refused(_("Say what should be changed."))
        if part and part.version_id != version.pk:
            raise Refused(_("This part belongs to another version. Open this one again."))
        mark = ReviewMark.objects.create(
            version=version,
            part=part,
            text=text,
            place_mm=place,
            facing=facing if place else None,
            made_by=by,
            made_at=at,
        )
        said = {"text": text, "part": str(part) if part else ""}
        if place:
            said["place_mm"] = [f"{x:.3f}" for x in place]
        _say("design.marked", version, by=by, at=at, **said)
        refresh_summary(case)
    return mark
