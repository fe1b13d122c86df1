"""Is an abutment found out that leaves its restoration too little height?

Zirconia 1.0 mm, lithium disilicate 1.5 mm: common practice, no source.
"""

import pytest

from casework.checks import load
from casework.limits import limit
from casework.stages import guarded_by
from tests.casework.checks.measures import ZIRCONIA, file, measured, value

NAME = "room_over_abutments"
ABUTMENT = file("abutment.stl", "abutment", ("45",), "Metal")


def test_guards():
    assert guarded_by(NAME) == {"submit_design", "approve_design"}


def said(room_mm, *, family=None, limits=None, crown=None, because="", doubt=0.001):
    row = value("opposing_room", "45", room_mm, doubt=doubt, step="abutment", because=because)
    files = [ABUTMENT, *([file("crown.stl", "crown", ("45",), "Glass")] if crown else [])]
    facts = {
        "measured": measured(row, files=files, materials={"Glass": crown} if crown else {}),
        "prescription": {"material_family": family, "material_limits": limits or {}},
    }
    return [f"{one.weight} {one.code}" for one in load(NAME).run(facts, limit)]


@pytest.mark.parametrize(
    ("room_mm", "known", "expected"),
    [
        (1.01, {"family": "zirconia"}, []),
        (0.99, {"family": "zirconia"}, ["ask low"]),
        (1.0, {"family": "zirconia"}, ["ask within_doubt"]),
        (1.4, {"family": "lithium disilicate"}, ["ask low"]),
        (1.4, {"crown": ZIRCONIA, "family": "lithium disilicate"}, []),
        (0.7, {"family": "zirconia", "limits": {"occlusal_min_mm": "0.6"}}, []),
        (0.5, {"family": "polymer", "limits": {"occlusal_min_mm": "0.6"}}, ["ask low"]),
        (9.0, {"family": "polymer"}, ["ask no_limit"]),
        (None, {"family": "zirconia", "because": "Too far."}, ["note value_not_known"]),
    ],
)
def test_room_is_held_against_the_material_of_the_restoration(room_mm, known, expected):
    assert said(room_mm, **known) == expected
