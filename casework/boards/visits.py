"""Which visit of the patient comes next on a case, as the front desk's row says it?"""

from casework.boards.rules import visit_kind
from casework.schedule.queries import front_desk_of
from casework.stages import Stage
from casework.visits.queries import next_follow_up


def write_visit(row, case):
    """Fill the front desk's fields of a row."""
    if case.is_over:
        return
    desk = front_desk_of(case)
    row.visit_kind, row.visit_name = visit_kind(desk.kind), desk.kind
    if desk.visit:
        row.visit_at, row.visit_minutes = desk.visit.at, desk.visit.minutes
    row.parts_expected_on, row.parts_here = desk.parts_expected_on, desk.parts_here
    row.not_ready_because = "\n".join(desk.not_ready_because)


def follow_up_day(case):
    """The day of the first follow-up visit that is not done; None before delivery."""
    if case.stage != Stage.RECALL:
        return None
    due = next_follow_up(case)
    return due.due_on if due else None
