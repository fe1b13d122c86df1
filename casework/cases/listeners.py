"""What happens to cases when the orders' side announces something?"""

from casework.audit.services import record
from casework.cases.models import Case, CaseParty
from casework.cases.services import refresh_summary
from casework.stages import FINAL


def on_announced(sender, *, kind, subject, by, facts, **kwargs):
    """Open cases of a member who was switched off are left to the party's other members.

    In the transaction of what was announced. What is over keeps the name.
    """
    if kind != "member.changed" or facts.get("is_active") is not False:
        return
    member_id = int(subject.rpartition(":")[2])
    seats = CaseParty.objects.filter(assigned=member_id).exclude(case__stage__in=FINAL)
    case_ids = list(seats.values_list("case", flat=True))
    seats.update(assigned=None)
    for case in Case.objects.filter(pk__in=case_ids).select_related("order").order_by("pk"):
        record(
            "case.assigned",
            subject=case.subject,
            by=by,
            case=case.code,
            facts={"member": "nobody"},
        )
        refresh_summary(case)
