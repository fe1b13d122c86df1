"""Does a follow-up plan say when to come, for what, and whom to ask?"""

from datetime import UTC, datetime

import pytest

from casework.documents.follow_up_plan import BITE, RECALL, looked_at
from casework.schedule.models import Appointment
from tests.casework.documents import scene
from tests.orders.documents.sheets import words_of


def test_every_visit_stands_with_its_day_and_what_is_looked_at(case, dentist, technician):
    scene.fill(case, dentist, technician)
    Appointment.objects.create(
        case=case, kind="48 hours", at=datetime(2026, 4, 10, 8, 0, tzinfo=UTC), revision=1
    )

    plan = scene.deliver(case, dentist)[1]
    text = words_of(plan)
    assert "48 hours 10 Apr 2026 10 Apr 2026, 08:00 (UTC) bite, contacts" in text
    assert "6 months 8 Oct 2026 not yet bone level" in text
    assert "Quirina Testperson , born 2 Apr 1968" in text
    assert "Whom to ask Practice Under the Lime" in text
    assert "Quirina" not in plan.facts


@pytest.mark.parametrize(
    ("name", "looked"),
    [("48 hours", BITE), ("1 week", BITE), ("6 months", RECALL), ("yearly", RECALL)],
)
def test_early_visits_look_at_the_bite_and_later_ones_at_the_bone(name, looked):
    assert looked_at(name) == looked
