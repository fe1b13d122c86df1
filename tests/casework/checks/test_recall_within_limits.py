"""Is bone lost, probing deep or work loose beyond the limits found?

1.5 mm in the first year: Albrektsson T et al. 1986, from memory. 2 mm with bleeding, 3 mm
without a baseline, probing of 6 mm: workshops of 2011 and 2017 as quoted in a thesis.
"""

from datetime import date

import pytest

from casework.stages import guarded_by
from tests.casework.checks.good import TODAY, at_chair, codes, findings, good, reading

NAME = "recall_within_limits"
YEAR = date(2027, 6, 1)


def test_guards():
    assert guarded_by(NAME) == {"close"}


def bone(before, after, *, bleeding=False):
    """Bone levels of one site at delivery (where there is one) and after a year."""
    facts = at_chair()
    rows = [reading("45", "bone_level_mm", after, direction="mesial", measured_on=YEAR)]
    if before is not None:
        rows.append(
            reading("45", "bone_level_mm", before, direction="mesial", measured_on=TODAY)
        )
    rows.append(reading("45", "bleeding", None, held=bleeding, measured_on=YEAR))
    facts["order"] |= {"sites": ["45"]}
    return facts | {"readings": rows}


@pytest.mark.parametrize(
    ("before", "after", "bleeding", "expected"),
    [
        ("0.5", "2.0", False, []),
        ("0.5", "2.1", False, ["ask bone_loss 45"]),
        ("0.5", "2.4", True, ["ask bone_loss 45"]),
        ("0.5", "2.5", True, ["ask loss_with_bleeding 45"]),
        (None, "2.9", False, []),
        (None, "3.0", False, ["ask level_low 45"]),
        ("2.0", "0.5", False, []),
    ],
)
def test_bone(before, after, bleeding, expected):
    assert codes(NAME, bone(before, after, bleeding=bleeding)) == expected


def test_each_side_of_the_implant_is_compared_with_itself():
    facts = bone("0.2", "0.4")
    facts["readings"] += [
        reading("45", "bone_level_mm", "2.2", direction="distal", measured_on=day)
        for day in (TODAY, YEAR)
    ]

    assert codes(NAME, facts) == []


def test_loss_is_shown_with_two_decimals():
    (found,) = findings(NAME, bone("0.5", "2.1"))

    assert (found.measured, found.limit) == ("1.60 mm", "1.50 mm")


@pytest.mark.parametrize(
    ("depth", "bleeding", "expected"),
    [("6", True, ["ask deep 45"]), ("5.9", True, []), ("6", False, [])],
)
def test_probing(depth, bleeding, expected):
    facts = bone("0.4", "0.4", bleeding=bleeding)
    facts["readings"].append(reading("45", "probing_mm", depth, measured_on=YEAR))

    assert codes(NAME, facts) == expected


@pytest.mark.parametrize("quantity", ["mobility", "pus"])
def test_signs_of_disease_ask(quantity):
    facts = bone("0.4", "0.4")
    facts["readings"].append(reading("45", quantity, None, held=True, measured_on=YEAR))

    assert codes(NAME, facts) == [f"ask {quantity} 45"]


def test_what_was_read_before_the_delivery_is_no_baseline():
    facts = bone(None, "2.0")
    facts["readings"].append(
        reading("45", "bone_level_mm", "0", direction="mesial", measured_on=date(2026, 2, 1))
    )

    assert codes(NAME, facts) == []


def test_unknown_bone_level_is_said():
    assert codes(NAME, good()) == ["note bone_not_known 45", "note bone_not_known 47"]


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        ({"outcome": "complication"}, "ask complication 6 months"),
        ({"bite": "no"}, "ask bite 6 months"),
        ({"screws_tight": "no"}, "ask loose 6 months"),
        ({"chipping": "yes"}, "ask chipped 6 months"),
    ],
    ids=lambda value: str(value)[:40],
)
def test_what_a_visit_found(changes, expected):
    facts = at_chair()
    facts["follow_ups"][2] |= changes

    assert codes(NAME, facts) == [expected]
