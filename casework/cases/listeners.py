"""What happens to cases when an order's side announces something?"""

from casework.cases.services import leave_unassigned


def on_announced(sender, *, kind, subject, by, facts, **kwargs):
    """Cases of a member who was switched off are left to the others, in the same transaction."""
    if kind == "member.changed" and facts.get("is_active") is False:
        leave_unassigned(int(subject.rpartition(":")[2]), by=by)
