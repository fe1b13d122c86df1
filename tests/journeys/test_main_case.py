"""A whole case, from the first record to recall, through the program's own services."""

import pytest

from casework.audit.queries import first_break
from casework.stages import Stage


@pytest.mark.slow
def test_bridge_reaches_recall_and_its_trail_holds(tell, run_jobs):
    story = tell("bridge")
    run_jobs()

    assert story.case.stage == Stage.RECALL
    assert first_break() is None
    assert [s.subject_digest for s in story.case.signatures.all()]
    assert not [f for f in story.found if f.weight == "stop"]
    papers = set(story.case.order.papers.values_list("kind", "state"))
    assert {kind for kind, _state in papers} >= {
        "order_sheet",
        "handoff_note",
        "design_approval",
        "delivery_record",
        "follow_up_plan",
    }
    assert {state for _kind, state in papers} == {"printed"}
