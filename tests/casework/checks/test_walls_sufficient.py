"""Is a wall found that is thinner than its material asks for, and is none judged by a guess?

Zirconia 1.0 mm occlusal, 0.6 axial, 0.4 at the margin: common practice, no source. 0.8 mm round
a screw channel: J Oral Implantol 2017;43(5):328. Titanium 0.5 mm: public summaries.
"""

import pytest

from casework.stages import guarded_by
from tests.casework.checks.good import findings, said_of
from tests.casework.checks.measures import file, measured, step, value, zirconia

NAME = "walls_sufficient"
DISILICATE = {"family": "lithium disilicate", "strength_class": 3, "limits": {}}


def test_guards():
    assert guarded_by(NAME) == {"submit_design", "approve_design"}


def wall(amount, region="axial", subject="45", doubt=0.001, **details):
    more = {"region": region} | details
    return value("wall_thickness", subject, amount, doubt=doubt, step="restoration", **more)


def post(amount, region="axial", **details):
    more = {"region": region} | details
    return value("local_thickness", "45", amount, step="abutment", **more)


def crown(material):
    return {
        "files": [file("crown.stl", "crown", ("45",), "Glass")],
        "materials": {"Glass": material} if material else {},
    }


@pytest.mark.parametrize(
    ("row", "expected"),
    [
        (wall(0.62), []),
        (wall(0.59), ["ask thin 45"]),
        (wall(3.0, doubt=None, reads="at least"), []),
        (wall(0.6, doubt=0), []),
        (wall(0.6005), ["ask within_doubt 45"]),
        (wall(0.5995), ["ask within_doubt 45"]),
        (wall(0.99, "upper"), ["ask thin 45"]),
        (wall(1.01, "occlusal"), []),
        (wall(0.41, "margin"), []),
        (wall(0.39, "margin"), ["ask thin 45"]),
        (wall(0.79, "buccal", other_side="channel"), ["ask thin 45"]),
        (wall(0.79, "buccal", other_side="outer surface"), []),
        (wall(0.1, "", least_in="axial"), []),  # the least of all; the regions stand beside it
        (post(0.51), []),
        (post(0.49), ["ask thin 45"]),
    ],
)
def test_one_wall(row, expected):
    assert said_of(NAME, row) == expected


def channel_wall(amount, part):
    return value("channel_wall", "45", amount, step="screw", part=part)


@pytest.mark.parametrize(
    ("row", "expected"),
    [
        (channel_wall(0.81, "file 20"), []),
        (channel_wall(0.79, "file 20"), ["ask thin 45"]),
        (channel_wall(0.51, "file 21"), []),
        (channel_wall(0.49, "file 21"), ["ask thin 45"]),
    ],
)
def test_the_wall_round_a_channel_is_that_of_its_part(row, expected):
    assert said_of(NAME, row) == expected


def test_the_wall_round_a_channel_is_said_once():
    rows = [channel_wall(0.3, "file 21"), post(0.3, other_side="channel"), post(0.3, "upper")]

    assert said_of(NAME, *rows) == ["ask thin 45", "ask thin 45"]


def test_a_thin_wall_is_shown_with_its_limit_and_source():
    (found,) = findings(NAME, {"measured": measured(wall(0.512, "upper"))})

    assert (found.measured, found.limit) == ("0.51 mm", "1.00 mm")
    assert found.source == "common practice, no source"
    assert found.values["region"] == "upper"


def test_what_the_material_says_wins_with_its_source():
    (found,) = findings(
        NAME, {"measured": measured(wall(0.7), materials=zirconia(axial_min_mm="0.8"))}
    )

    assert (found.measured, found.limit, found.source) == ("0.70 mm", "0.80 mm", "its leaflet")


def test_a_wall_known_to_be_thicker_than_is_looked_at_keeps_what_is_asked_for():
    row = wall(3.0, "upper", doubt=None, reads="at least")
    assert said_of(NAME, row) == []

    # A material that asks for more than is looked at: whether it has that is not known.
    asked = measured(row, materials=zirconia(occlusal_min_mm="4"))
    (found,) = findings(NAME, {"measured": asked})
    assert found.code == "bound_only"
    assert (found.measured, found.limit) == ("at least 3.00 mm", "4.00 mm")


def test_two_decimals_never_hide_that_a_limit_is_broken():
    (found,) = findings(NAME, {"measured": measured(wall(0.598, doubt=0))})

    assert (found.code, found.measured, found.limit) == ("thin", "0.598 mm", "0.60 mm")


def test_where_no_limit_is_known_that_is_said_once_for_a_part():
    rows = [wall(2.0, "axial"), wall(2.0, "margin"), wall(1.6, "upper")]
    (found,) = findings(NAME, {"measured": measured(*rows, **crown(DISILICATE))})

    assert (found.weight, found.code, found.subject) == ("ask", "no_limit", "crown.stl")
    assert found.values == {"material": "Glass", "regions": "axial, margin"}


def test_lithium_disilicate_keeps_its_own_occlusal_limit():
    # 1.5 mm: common practice, no source.
    assert said_of(NAME, wall(1.4, "upper"), **crown(DISILICATE)) == ["ask thin 45"]


def test_a_limit_of_the_material_is_used_where_no_default_is():
    glass = DISILICATE | {"limits": {"axial_min_mm": "0.8"}}

    assert said_of(NAME, wall(0.9), **crown(glass)) == []
    assert said_of(NAME, wall(0.7), **crown(glass)) == ["ask thin 45"]


def test_without_a_material_walls_are_not_judged():
    assert said_of(NAME, wall(0.1), **crown(None)) == ["ask no_limit crown.stl"]
    files = [file("crown.stl", "crown", ("45",))]
    assert said_of(NAME, wall(0.1), files=files) == ["ask no_material crown.stl"]


def test_what_is_not_known_asks_unless_the_whole_step_says_so():
    because = "No intaglio was found."
    row = value("wall_thickness", "45", None, step="restoration", because=because)

    assert said_of(NAME, row) == ["ask value_not_known 45"]
    steps = [step("restoration", "file 20", because)]
    assert said_of(NAME, row, steps=steps) == []


def test_a_region_without_a_wall_says_nothing():
    because = "It ends in edges there and has no opposite side."
    row = value("wall_thickness", "45", None, because=because, region="occlusal")

    assert said_of(NAME, row) == []


def test_nothing_measured_says_nothing():
    assert said_of(NAME) == []
