"""Is a bite found of which nobody knows how it was taken?"""

from datetime import date

import pytest

from casework.stages import guarded_by
from tests.casework.checks.good import codes, good

NAME = "bite_recorded"


def test_guards():
    assert guarded_by(NAME) == {"send_order"}


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        ({"position": ""}, ["stop no_position"]),
        ({"position": "other"}, ["ask position_not_described"]),
        ({"position": "other", "note": "by the splint"}, []),
        ({"seated": " "}, ["stop seated_not_said"]),
        ({"support_behind": None}, ["ask support_not_said"]),
        ({"support_behind": False}, ["note no_support"]),
        ({"taken_on": date(2026, 5, 1)}, ["ask other_day file 4"]),
    ],
    ids=lambda value: str(value)[:50],
)
def test_bite(changes, expected):
    facts = good()
    facts["bite"] |= changes

    assert codes(NAME, facts) == expected


def test_no_bite_note_stops():
    assert codes(NAME, good(bite=None)) == ["stop not_recorded"]


def test_undated_bite_scan_is_not_compared_by_day():
    facts = good()
    facts["files"][3]["taken_on"] = None

    assert codes(NAME, facts) == []
