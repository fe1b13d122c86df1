"""What does the background look at in a file, and which copy of it may leave?

Nothing is written while something is computed. The result - integrity values, the copy without
names, the state - and the end of the job are one transaction; if the file was understood
otherwise meanwhile (role, unit), the job that came with that change writes instead.
"""

from dataclasses import dataclass, field
from datetime import date

from django.conf import settings
from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from casework.audit.services import record
from casework.cases.services import refresh_summary
from casework.evidence import dicom, formats, keeping, pictures
from casework.evidence.models import Derived, Evidence
from casework.evidence.queries import name_outside
from casework.evidence.refusals import FileRefused
from casework.evidence.rules import MESHES, PICTURES, unit_question
from casework.measure.faults import MeshUnreadable
from casework.measure.integrity import inspect
from casework.measure.meshes import geometry_digest
from casework.measure.reading import read_mesh
from casework.measure.rewriting import without_names
from orders.canonical import digest_of_bytes
from orders.jobs.queries import pending
from orders.jobs.services import ATTEMPTS_MAX, enqueue, finish, renew


@dataclass
class Copy:
    """What leaves: bytes, what was taken out, the digest proving that the rest is equal."""

    data: bytes
    removed: tuple
    content_digest: str


@dataclass
class Look:
    """What was found in a file."""

    state: str = "readable"
    problem: str = ""
    unit_factor: str = ""
    values: dict | None = None
    taken_on: date | None = None
    copy: Copy | None = None
    seen: tuple = field(default_factory=tuple)


def inspect_file(evidence_id, job):
    """Read a file, measure it, make the copy that may leave; one transaction at the end."""
    evidence = Evidence.objects.select_related("case__order").get(pk=evidence_id)
    if not evidence.storage_key:
        finish(job)
        return
    Evidence.objects.filter(pk=evidence.pk, state="waiting").update(state="inspecting")
    try:
        look = look_at(evidence, job)
    except Exception:
        if job.attempts >= ATTEMPTS_MAX:
            _give_up(evidence)
        raise
    look.seen = (evidence.role, evidence.unit_factor)
    _write(evidence, look, job)


def look_at(evidence, job=None):
    """Everything that is computed; reads the stored bytes, writes nothing."""
    # The neutral name keeps the sentence that is stored free of a person's.
    name = _("File {number}").format(number=evidence.number)
    with keeping.local_path(evidence.storage_key) as path:
        try:
            if evidence.format in MESHES:
                return _look_at_mesh(evidence, path, name, job)
            if evidence.format in PICTURES:
                return _look_at_picture(evidence, path, name)
            if evidence.format == "DICOM":
                return _look_at_dicom(evidence, path, name)
            return Look()
        except MeshUnreadable as problem:
            return Look("refused", formats.neutral_refusal(problem, name))
        except FileRefused as refusal:
            return Look("refused", str(refusal))


def _look_at_mesh(evidence, path, name, job):
    mesh = read_mesh(path, name, unit_factor=float(evidence.unit_factor or 1))
    report = inspect(mesh)
    if job is not None:
        renew(job, progress=_("measured"))
    look = Look(unit_factor=evidence.unit_factor)
    if not evidence.unit_factor:
        look.problem = unit_question(evidence.role, _size(report))
        look.unit_factor = "" if look.problem else "1"
    if look.unit_factor:
        look.values = report.as_dict() | {"notes": formats.neutral_notes(report.notes)}
    del mesh, report
    if not Derived.objects.filter(evidence=evidence).exists():
        data = path.read_bytes()
        made, removed = without_names(data, name)
        look.copy = Copy(made, removed, geometry_digest(read_mesh(made, name)))
    return look


def _size(report):
    """Extents of the main piece where it has nearly all the surface, else of everything."""
    if report.islands and report.islands[0].area_mm2 >= 0.9 * report.area_mm2:
        return report.islands[0].extents_mm
    return report.extents_mm


def _look_at_picture(evidence, path, name):
    formats.check_picture(path, name)
    look = Look(taken_on=_day(pictures.day_taken(path)))
    try:
        look.copy = Copy(*pictures.without_metadata(path.read_bytes(), evidence.format))
    except pictures.PictureDamaged as problem:
        look.problem = _(
            "{name} can be seen here but not handed over: {problem}. Export it again."
        ).format(name=name, problem=problem)
    return look


def _look_at_dicom(evidence, path, name):
    formats.check_dicom(path, name)
    look = Look(taken_on=_day(dicom.day_taken(path)))
    try:
        copy = dicom.without_names(
            path.read_bytes(), code=evidence.case.code, key=settings.SECRET_KEY
        )
        look.copy = Copy(*copy)
    except dicom.BurnedIn:
        look.problem = _(
            "{name} says that text is burned into the picture: it stays here, because a name"
            " in the picture cannot be taken out. Export it again without text."
        ).format(name=name)
    except pictures.PictureDamaged as problem:
        look.problem = _(
            "{name} can be kept but not handed over: {problem}. Export it again."
        ).format(name=name, problem=problem)
    return look


def _day(text):
    """A day that exists and is past, or None: what a device's clock made up is not known."""
    try:
        day = date.fromisoformat(text or "")
    except ValueError:
        return None
    return day if date(1990, 1, 1) <= day <= timezone.now().date() else None


def _write(evidence, look, job):
    """Keep the result; the copy's bytes are stored first and go again where it is not kept."""
    kept = _keep_copy(evidence, look.copy) if look.copy else None
    is_kept = False
    try:
        with transaction.atomic():
            is_kept = _write_row(evidence, look, kept, job)
    finally:
        if kept and not is_kept:
            keeping.forget(kept["storage_key"])


def _write_row(evidence, look, kept, job):
    """Write the rows and end the job; returns whether the copy was kept."""
    row = Evidence.objects.select_for_update(of=("self",), no_key=True).get(pk=evidence.pk)
    if (row.role, row.unit_factor) != look.seen or not row.storage_key:
        finish(job)
        return False
    row.state, row.problem = look.state, look.problem
    row.unit_factor = look.unit_factor or row.unit_factor
    row.taken_on = row.taken_on or look.taken_on
    row.save(update_fields=["state", "problem", "unit_factor", "taken_on"])
    is_new = False
    if kept:
        _copy, is_new = Derived.objects.get_or_create(evidence=row, defaults=kept)
    if look.values is not None:
        _keep_values(evidence, row, look.values)
        enqueue("previews.make", evidence.pk)
        if row.is_confirmed:
            have_measured(evidence.case)
    record(
        "evidence.read",
        subject=row.subject,
        case=evidence.case.code,
        facts={"number": row.number, "state": row.state, "sha256": row.sha256},
    )
    finish(job)
    refresh_summary(evidence.case)
    return is_new


def have_measured(case):
    """Ask for the measures of a case once, however many files come before it begins."""
    job = pending("findings.measure", [case.pk]).get(case.pk)
    if job is None or job.state != "waiting":
        enqueue("findings.measure", case.pk)


def _keep_copy(evidence, copy):
    sha256 = digest_of_bytes(copy.data)
    key = keeping.keep_bytes(
        copy.data,
        party_id=evidence.party_id,
        code=evidence.case.code,
        sha256=sha256,
        part="handed",
    )
    return {
        "size_bytes": len(copy.data),
        "sha256": sha256,
        "storage_key": key,
        "name": name_outside(evidence),
        "removed": list(copy.removed),
        "content_digest": copy.content_digest,
    }


def _keep_values(evidence, row, values):
    from casework.measurements import queries as known
    from casework.measurements.services import keep_measurement

    keep_measurement(
        evidence.case,
        evidence=row,
        method=known.INTEGRITY,
        version=known.INTEGRITY_VERSION,
        input_digest=known.input_digest(row.sha256, row.unit_factor),
        values=values,
    )


def _give_up(evidence):
    Evidence.objects.filter(pk=evidence.pk).update(
        state="failed",
        problem=_(
            "File {number} could not be inspected; it counts as not read. Send it again, or"
            " ask whoever runs this service."
        ).format(number=evidence.number),
    )
