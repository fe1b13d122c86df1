"""Is a material found that is not named, of another family, or too weak?

Classes: ISO 6872:2015 Table 1, from memory.
"""

import pytest

from casework.stages import guarded_by
from tests.casework.checks.good import codes, good

NAME = "material_named"


def test_guards():
    assert guarded_by(NAME) == {"send_order"}


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        ({"material": None}, ["note named_at_design"]),
        (
            {"material": None, "strength_class": None},
            ["note named_at_design", "ask no_class"],
        ),
        ({"material_class": None}, ["ask class_not_known"]),
        ({"material_class": 4}, ["stop too_weak"]),
        ({"material_product_family": "polymer"}, ["stop other_family"]),
        (
            {
                "material_family": "polymer",
                "material_product_family": "polymer",
                "material_class": None,
                "strength_class": None,
            },
            [],
        ),
    ],
    ids=lambda value: str(value)[:70],
)
def test_material(changes, expected):
    facts = good()
    facts["prescription"] |= changes

    assert codes(NAME, facts) == expected


def test_no_prescription_stops():
    assert codes(NAME, good(prescription=None)) == ["stop no_prescription"]
