"""Who writes an order's records on a case, and when? Asks for leave, then orders does it."""

from django.db import transaction

from casework.cases.access import require
from casework.cases.services import refresh_summary
from orders.implants import services as implants
from orders.prescriptions import services as prescriptions
from orders.shades import services as shades


def record_implant(case, *, by, implant=None, seen_revision=None, at=None, **typed):
    """Write the record of an implant of the case's patient; see `save_implant`."""
    with transaction.atomic():
        require(case, by, "record implants")
        saved = implants.save_implant(
            case.order.patient,
            by=by,
            case_code=case.code,
            implant=implant,
            seen_revision=seen_revision,
            at=at,
            **typed,
        )
        refresh_summary(case)
    return saved


def remove_implant(case, *, by, implant, reason):
    """Take out an implant recorded by mistake."""
    with transaction.atomic():
        require(case, by, "record implants")
        implants.remove_implant(implant, by=by, case_code=case.code, reason=reason)
        refresh_summary(case)


def record_teeth(case, *, by, present, prepared=(), checked_on, seen_revision=None, at=None):
    """Write which teeth of the case's patient exist, and which are prepared."""
    with transaction.atomic():
        require(case, by, "record teeth")
        return implants.save_dentition(
            case.order.patient,
            by=by,
            case_code=case.code,
            present=present,
            prepared=prepared,
            checked_on=checked_on,
            seen_revision=seen_revision,
            at=at,
        )


def record_shade(case, *, by, guide, seen_revision=None, at=None, **typed):
    """Write the shade note of the case; see `save_shade`."""
    with transaction.atomic():
        require(case, by, "record shade")
        return shades.save_shade(
            case.order, by=by, guide=guide, seen_revision=seen_revision, at=at, **typed
        )


def write_prescription(case, *, by, prescription, seen_revision=None, **typed):
    """Write fields of the draft; see `save_draft`."""
    with transaction.atomic():
        require(case, by, "write prescription")
        saved = prescriptions.save_draft(
            prescription, by=by, seen_revision=seen_revision, **typed
        )
        refresh_summary(case)
    return saved


def amend_prescription(case, *, by):
    """Begin the next prescription as a copy of the signed one."""
    with transaction.atomic():
        require(case, by, "write prescription")
        draft = prescriptions.begin_amendment(case.order, by=by)
        refresh_summary(case)
    return draft


def withdraw_amendment(case, *, by, prescription):
    """Drop a begun amendment; the signed prescription stays in force."""
    with transaction.atomic():
        require(case, by, "write prescription")
        prescriptions.withdraw_draft(prescription, by=by)
        refresh_summary(case)
