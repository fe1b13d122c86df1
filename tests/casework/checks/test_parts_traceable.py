"""Can every made part be followed to lot, certificate, records and maker?"""

from datetime import date

import pytest

from casework.stages import guarded_by
from tests.casework.checks.good import codes, good

NAME = "parts_traceable"
BRIDGE = "bridge (ISO 45, 46, 47)"


def test_guards():
    assert guarded_by(NAME) == {"dispatch_for_try_in", "dispatch_for_delivery"}


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        ({"material_lot": None, "certificate": None}, [f"stop no_lot {BRIDGE}"]),
        ({"certificate": ""}, [f"ask no_certificate {BRIDGE}"]),
        ({"milling_record": ""}, [f"ask no_record {BRIDGE}"]),
        ({"milling_record": "", "furnace_record": "run 3"}, []),
        ({"made_by": None}, [f"stop no_maker {BRIDGE}"]),
        ({"made_on": None}, [f"stop no_maker {BRIDGE}"]),
        ({"made_on": date(2026, 5, 1)}, []),
    ],
    ids=lambda value: str(value)[:40],
)
def test_made_part(changes, expected):
    facts = good()
    facts["parts"][0] |= changes

    assert codes(NAME, facts) == expected


def test_base_without_lot_stops():
    facts = good()
    facts["parts"][5]["lot"] = ""

    assert codes(NAME, facts) == ["stop no_stock_lot base (ISO 45)"]


def test_no_made_part_stops():
    assert codes(NAME, good(parts=[])) == ["stop no_parts"]
