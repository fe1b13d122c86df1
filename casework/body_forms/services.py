"""What is done with the mesh of a scan body's form: put there, replaced, taken away."""

from decimal import Decimal

from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from casework.audit.services import record
from casework.body_forms.models import BodyForm
from casework.body_forms.rules import FILE_MAX_BYTES, TRIANGLES_MAX, objections_to_form_of
from casework.cases.models import Case
from casework.evidence import keeping
from casework.evidence.inspection import have_measured
from casework.evidence.rules import UNIT_FACTORS, clean_name, size_in_words
from casework.measure.faults import MeshUnreadable
from casework.measure.reading import read_mesh
from casework.measure.scan_bodies.forms import form_of_mesh
from casework.stages import FINAL
from orders.catalogue.models import Component
from orders.catalogue.services import require_own
from orders.refusals import Refused


def receive_form(component, *, by, incoming, unit, at=None):
    """Take the mesh of the form of one of the party's own scan bodies; it replaces the last.

    `incoming` is an ended Incoming, `unit` a name of UNIT_FACTORS. Open cases with the scan
    body are measured anew. The bytes are stored before the transaction begins.
    """
    at = at or timezone.now()
    _require_scan_body(component, by)
    name = clean_name(incoming.name)
    told = _looked_at(incoming, name, unit)
    where = {"party_id": by.party_id, "code": "catalogue", "part": "forms"}
    with keeping.kept(incoming.path, sha256=incoming.sha256, **where) as key:
        return _write(
            component,
            by,
            at,
            original_name=name,
            storage_key=key,
            sha256=incoming.sha256,
            **told,
        )


def too_large(name):
    """The refusal of a file that has too many bytes."""
    return Refused(
        _("{name} is larger than {most}, the most that is taken for a scan body.").format(
            name=name, most=size_in_words(FILE_MAX_BYTES)
        )
    )


def remove_form(component, *, by, at=None):
    """Take the mesh away: the dimensions of the part tell its form again."""
    at = at or timezone.now()
    _require_scan_body(component, by)
    with transaction.atomic():
        last = _locked_present(component)
        if last is None:
            raise Refused(_("There is no mesh of its form to be removed."))
        _end(last, by, at)
        _have_known(component, by, at, mesh=None)


def _require_scan_body(component, by):
    require_own(component, by)
    if found := objections_to_form_of(component.kind, component.part_number):
        raise Refused(*found)


def _looked_at(incoming, name, unit):
    """What a row says of the file; raises Refused where it tells no form of a scan body."""
    if unit not in UNIT_FACTORS:
        raise Refused(_("Choose the unit: {units}.").format(units=", ".join(UNIT_FACTORS)))
    if incoming.size > FILE_MAX_BYTES:
        raise too_large(name)
    try:
        mesh = read_mesh(incoming.path, name, unit_factor=float(UNIT_FACTORS[unit]))
    except MeshUnreadable as problem:
        raise Refused(problem.sentence()) from None
    if len(mesh.faces) > TRIANGLES_MAX:
        raise Refused(
            _(
                "{name} has {count} triangles; at most {most} are taken for a scan body."
                " Export it with fewer."
            ).format(name=name, count=f"{len(mesh.faces):,}", most=f"{TRIANGLES_MAX:,}")
        )
    try:
        form = form_of_mesh(mesh.vertices, mesh.faces)
    except ValueError as problem:
        raise Refused(_("{name}: {problem}").format(name=name, problem=problem)) from None
    return {
        "size_bytes": incoming.size,
        "format": mesh.format.split()[-1],
        "unit_factor": UNIT_FACTORS[unit],
        "triangle_count": len(mesh.faces),
        "height_mm": _hundredths(form.height_mm),
        "diameter_mm": _hundredths(2 * form.reach_mm),
    }


def _hundredths(value_mm):
    return Decimal(value_mm).quantize(Decimal("0.01"))


def _write(component, by, at, **told):
    with transaction.atomic():
        last = _locked_present(component)
        if last is not None:
            if (last.sha256, last.unit_factor) == (told["sha256"], told["unit_factor"]):
                raise Refused(
                    _("{name} is there already, in the same unit (same SHA-256).").format(
                        name=told["original_name"]
                    )
                )
            _end(last, by, at)
        row = BodyForm.objects.create(
            component=component, received_by=by, received_at=at, **told
        )
        said = ("sha256", "size_bytes", "format", "unit_factor", "triangle_count")
        _have_known(component, by, at, mesh={name: told[name] for name in said})
    return row


def _locked_present(component):
    """The present mesh, with the scan body locked so that no second one comes beside it."""
    Component.objects.select_for_update(of=("self",), no_key=True).get(pk=component.pk)
    return BodyForm.objects.filter(component=component, ended_at=None).first()


def _end(row, by, at):
    row.ended_by, row.ended_at = by, at
    row.save(update_fields=["ended_by", "ended_at"])


def _have_known(component, by, at, *, mesh):
    """Write the change into the trail and have what it concerns measured anew."""
    record(
        "catalogue.changed",
        subject=f"{component._meta.label}:{component.pk}",
        by=by,
        facts={"component": str(component), "says": {"mesh": mesh}},
        at=at,
    )
    cases = Case.objects.filter(scan_bodies__component=component).exclude(stage__in=FINAL)
    for case in cases.distinct():
        have_measured(case)
