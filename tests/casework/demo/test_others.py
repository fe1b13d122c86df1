"""Has every board of the demo something on it?"""

import pytest

from casework.cases.models import Summary
from casework.demo.others import OTHERS, tell_others
from casework.demo.works import WORKS


@pytest.mark.slow
def test_each_party_has_something_to_do(cast, demo_files, run_jobs):
    count = tell_others(
        cast, {work.key: demo_files[work.key] for work in WORKS.values()}, run_jobs
    )

    assert count == len(OTHERS)
    for key in ("practice", "laboratory", "scans", "mill"):
        turns = Summary.objects.filter(party=cast.parties[key], is_turn=True)
        assert turns.exists(), key
    waiting = set(
        Summary.objects.filter(party=cast.parties["practice"]).values_list("stage", flat=True)
    )
    assert waiting >= {
        "planning",
        "scan capture",
        "design",
        "design approval",
        "fabrication",
        "try-in",
        "delivery",
    }
