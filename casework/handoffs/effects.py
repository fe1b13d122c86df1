"""What else changes when a case moves? One table from a move's name to what goes with it."""

from casework.cases.queries import current_prescription
from casework.designs import services as designs
from casework.designs.queries import current_version
from casework.fabrication import services as fabrication
from casework.handoffs.models import Signature
from casework.visits import services as visits
from orders.prescriptions import services as prescriptions


def void_signatures(case, *, move_name, reason, by, at):
    """Take the force of the case's signatures on one kind of move; the rows stay."""
    from casework.audit.services import record

    rows = Signature.objects.filter(case=case, handoff__move=move_name, voided_at=None)
    for signature in rows:
        signature.voided_at = at
        signature.void_reason = reason
        signature.save(update_fields=["voided_at", "void_reason"])
        record(
            "signature.voided",
            subject=signature.subject,
            by=by,
            case=case.code,
            facts={"signature": signature.pk, "subject": signature.subject, "reason": reason},
            at=at,
        )


def _submit(case, handoff, by, at):
    designs.submit_version(current_version(case), by=by, at=at)


def _approve(case, handoff, by, at):
    designs.approve_version(current_version(case), by=by, at=at)
    fabrication.plan_parts(case, by=by)


def _return_design(case, handoff, by, at):
    version = current_version(case)
    if version and version.state == "submitted":
        designs.return_version(version, by=by, reason=handoff.reason, at=at)


def _void_approval(case, handoff, by, at):
    designs.void_approval(case, by=by, reason=handoff.reason, at=at)
    void_signatures(case, move_name="approve_design", reason=handoff.reason, by=by, at=at)


def _rescan(case, handoff, by, at):
    _return_design(case, handoff, by, at)
    _void_approval(case, handoff, by, at)


def _clear_delivery(case, handoff, by, at):
    visits.clear_delivery(case, by=by, reason=handoff.reason)


def _send_back(case, handoff, by, at):
    _void_approval(case, handoff, by, at)
    _clear_delivery(case, handoff, by, at)


def _begin_try_in(case, handoff, by, at):
    case.try_in_count += 1


def _delivered(case, handoff, by, at):
    fabrication.mark_delivered(case, by=by)
    visits.plan_follow_ups(case, by=by)


def _end(case, handoff, by, at):
    case.closed_at = at


# Run in the move's transaction, once the stage has changed. They may set fields of the case,
# which is saved afterwards.
ON_ARRIVAL = {
    "submit_design": _submit,
    "approve_design": _approve,
    "ask_for_changes": _return_design,
    "ask_for_rescan": _rescan,
    "reopen_design": _void_approval,
    "return_to_finish": _clear_delivery,
    "return_to_redesign": _send_back,
    "rescan_after_try_in": _send_back,
    "dispatch_for_try_in": _begin_try_in,
    "deliver": _delivered,
    "close": _end,
    "cancel": _end,
}


def subject_to_sign(case, move):
    """The row that a signed move signs: the prescription, or the design version."""
    if move.name == "send_order":
        return current_prescription(case)
    return current_version(case)


def lock_signed(row, *, by, at):
    """Fix what was signed: a signed prescription is never written again."""
    if row._meta.model_name == "prescription" and row.state == "draft":
        prescriptions.sign_prescription(row, by=by, at=at)
