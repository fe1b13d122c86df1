"""Is work found that nobody, or only its maker, looked at last?"""

import pytest

from casework.stages import guarded_by
from tests.casework.checks.good import codes, good

NAME = "parts_inspected"
BRIDGE = "bridge (ISO 45, 46, 47)"


def test_guards():
    assert guarded_by(NAME) == {"dispatch_for_try_in", "dispatch_for_delivery"}


@pytest.mark.parametrize(
    ("changes", "technicians", "expected"),
    [
        ({"inspected_by_id": 1}, 2, [f"stop by_its_maker {BRIDGE}"]),
        ({"inspected_by_id": 1}, 1, [f"ask alone {BRIDGE}"]),
        ({"inspected_on": None}, 2, [f"stop not_inspected {BRIDGE}"]),
        ({"disinfected_on": None}, 2, [f"stop not_disinfected {BRIDGE}"]),
    ],
    ids=lambda value: str(value)[:40],
)
def test_part(changes, technicians, expected):
    facts = good(members={"laboratory_technician_count": technicians})
    facts["parts"][0] |= changes

    assert codes(NAME, facts) == expected
