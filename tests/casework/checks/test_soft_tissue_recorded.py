"""Is missing or inflamed tissue found?

Heights of healing abutments: common practice, no source.
"""

from decimal import Decimal

import pytest

from casework.stages import guarded_by
from tests.casework.checks.good import codes, good, implant

NAME = "soft_tissue_recorded"


def test_guards():
    assert guarded_by(NAME) == {"ready_to_scan"}


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        ({"soft_tissue": "healthy"}, []),
        ({"soft_tissue": "inflamed"}, ["ask not_healthy 45"]),
        ({"soft_tissue": "not judged"}, ["ask not_healthy 45"]),
        ({"soft_tissue": ""}, ["stop tissue_missing 45"]),
        ({"healing_abutment_height_mm": None}, ["ask no_height 45"]),
        ({"healing_abutment_height_mm": Decimal("10")}, []),
        ({"healing_abutment_height_mm": Decimal("10.1")}, ["ask odd_height 45"]),
        ({"healing_abutment_height_mm": Decimal("0.9")}, ["ask odd_height 45"]),
    ],
    ids=lambda value: str(value)[:50],
)
def test_tissue_and_height(changes, expected):
    facts = good(
        implants=[implant("45", **changes), implant("47"), implant("16", soft_tissue="")]
    )

    assert codes(NAME, facts) == expected
