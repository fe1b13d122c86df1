"""Does a milled part without lot or record stay at the milling centre?"""

import pytest

from casework.stages import guarded_by
from tests.casework.checks.good import codes, good

NAME = "milled_lots_recorded"
BRIDGE = "bridge (ISO 45, 46, 47)"


def test_guards():
    assert guarded_by(NAME) == {"return_milled"}


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        ({"material_lot": None}, [f"stop no_lot {BRIDGE}"]),
        ({"milling_record": ""}, [f"stop no_milling_record {BRIDGE}"]),
    ],
    ids=lambda value: str(value)[:40],
)
def test_part(changes, expected):
    facts = good()
    facts["parts"][0] |= changes

    assert codes(NAME, facts) == expected


def test_nothing_milled_stops():
    facts = good()
    facts["parts"] = facts["parts"][1:]

    assert codes(NAME, facts) == ["stop no_parts"]
