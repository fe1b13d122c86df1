"""What is done with a file of a case: receive, confirm, replace, settle its unit, erase."""

from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from casework.audit.services import record
from casework.cases.access import require
from casework.cases.services import refresh_summary
from casework.evidence import keeping
from casework.evidence.inspection import have_measured, inspect_file
from casework.evidence.models import Derived, Evidence
from casework.evidence.queries import facts_of, name_outside, was_handed_over
from casework.evidence.receiving import (
    Outcome,
    Slot,
    locked_own,
    receive_file,
    receive_upload,
    refuse_upload,
    supersede,
)
from casework.evidence.rules import MESHES, ROLES, UNIT_FACTORS, objections_to_role
from orders.jobs.queries import pending
from orders.jobs.services import enqueue, revive
from orders.refusals import Refused

__all__ = [
    "Outcome",
    "Slot",
    "confirm_file",
    "confirm_proposals",
    "erase_personal",
    "inspect_again",
    "inspect_file",
    "note_download",
    "receive_file",
    "receive_upload",
    "refuse_upload",
    "settle_unit",
    "supersede_file",
]


def confirm_file(evidence, *, by, role, jaw="", sites=(), taken_on=None, at=None):
    """A person says what the file is. What was handed over is not changed, but replaced."""
    with transaction.atomic():
        require(evidence.case, by, "add evidence")
        evidence = locked_own(evidence, by)
        objections = objections_to_role(role, evidence.format, jaw, sites)
        if objections:
            raise Refused(*objections)
        says = {"role": role, "jaw": jaw, "sites": list(sites), "taken_on": taken_on}
        is_same = all(getattr(evidence, key) == value for key, value in says.items())
        if not is_same and was_handed_over(evidence):
            raise Refused(
                _(
                    "File {number} was handed over as it is. Send it again with what it is"
                    " meant to be; the new file replaces it."
                ).format(number=evidence.number)
            )
        has_new_size = _size_class(role) != _size_class(evidence.role)
        for key, value in says.items():
            setattr(evidence, key, value)
        evidence.is_confirmed = True
        if evidence.format in MESHES and has_new_size and evidence.state != "refused":
            evidence.unit_factor, evidence.problem, evidence.state = "", "", "waiting"
            enqueue("evidence.inspect", evidence.pk)
        evidence.save()
        Derived.objects.filter(evidence=evidence).update(name=name_outside(evidence))
        if evidence.format in MESHES:
            have_measured(evidence.case)
        record(
            "evidence.changed",
            subject=evidence.subject,
            by=by,
            case=evidence.case.code,
            facts=facts_of(evidence),
            at=at,
        )
        refresh_summary(evidence.case)
    return evidence


def _size_class(role):
    return "part" if role in ROLES and ROLES[role].size == "part" else "arch"


def settle_unit(evidence, *, by, unit, at=None):
    """Say in which unit the file counts; only then is it measured."""
    if unit not in UNIT_FACTORS:
        raise Refused(_("Choose the unit: {units}.").format(units=", ".join(UNIT_FACTORS)))
    with transaction.atomic():
        require(evidence.case, by, "settle unit")
        evidence = locked_own(evidence, by)
        if evidence.format not in MESHES:
            raise Refused(_("Only surfaces (STL, PLY, OBJ) have a unit to settle."))
        if evidence.unit_factor and was_handed_over(evidence):
            raise Refused(
                _("File {number} was handed over with its unit; send it again instead.").format(
                    number=evidence.number
                )
            )
        evidence.unit_factor = UNIT_FACTORS[unit]
        evidence.problem, evidence.state = "", "waiting"
        evidence.save()
        enqueue("evidence.inspect", evidence.pk)
        record(
            "evidence.unit_settled",
            subject=evidence.subject,
            by=by,
            case=evidence.case.code,
            facts={"number": evidence.number, "unit": unit, "factor": evidence.unit_factor},
            at=at,
        )
        refresh_summary(evidence.case)
    return evidence


def confirm_proposals(case, *, by, taken_on=None, at=None):
    """A person looked at what was proposed and found it right; returns the files' numbers.

    Proposals that lack something (a jaw, sites) stay to be confirmed one by one. `taken_on` is
    the day of those that do not say it themselves.
    """
    with transaction.atomic():
        require(case, by, "add evidence")
        rows = Evidence.objects.filter(
            case=case, party=by.party, is_confirmed=False, superseded_at=None
        ).exclude(state="refused")
        whole = [
            row
            for row in rows.order_by("number")
            if not objections_to_role(row.role, row.format, row.jaw, row.sites)
        ]
        for row in whole:
            confirm_file(
                row,
                by=by,
                role=row.role,
                jaw=row.jaw,
                sites=row.sites,
                taken_on=row.taken_on or taken_on,
                at=at,
            )
    if not whole:
        raise Refused(_("No proposal can be confirmed as it stands: open each file."))
    return [row.number for row in whole]


def inspect_again(evidence, *, by):
    """Put a file in line again whose inspection failed or was interrupted too often."""
    with transaction.atomic():
        require(evidence.case, by, "add evidence")
        evidence = locked_own(evidence, by)
        job = pending("evidence.inspect", [evidence.pk]).get(evidence.pk)
        if evidence.state != "failed" and (job is None or job.state != "dead"):
            raise Refused(
                _("File {number} needs no second inspection.").format(number=evidence.number)
            )
        evidence.state, evidence.problem = "waiting", ""
        evidence.save(update_fields=["state", "problem"])
        if job is not None and job.state == "dead":
            revive(job.pk)
        else:
            enqueue("evidence.inspect", evidence.pk)
        refresh_summary(evidence.case)


def supersede_file(evidence, *, by, new, at=None):
    """Put a newer file in the place of one; the old one stays, and is not counted any more."""
    with transaction.atomic():
        require(evidence.case, by, "add evidence")
        supersede(evidence, new, by, at or timezone.now())
        refresh_summary(evidence.case)


def erase_personal(evidence):
    """Delete the original's bytes and its name; digest, findings and copy stay. Idempotent.

    Runs in the transaction of the erasure; the bytes go when it is committed.
    """
    key = evidence.storage_key
    with transaction.atomic():
        Evidence.objects.filter(pk=evidence.pk).update(
            original_name="", storage_key="", note=""
        )
        transaction.on_commit(lambda: keeping.forget(key))


def note_download(case, *, by, what, at=None):
    """Enter in the trail that everything of a case was taken along."""
    with transaction.atomic():
        record(
            "evidence.downloaded",
            subject=case.subject,
            by=by,
            case=case.code,
            facts={"what": what},
            at=at,
        )
