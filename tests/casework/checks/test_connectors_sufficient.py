"""Is a connector found that is too small, too low or too sharp, and is no limit invented?

Zirconia of class 5, back teeth, one pontic: 9 mm², height 3.0 mm (common practice, no source);
two pontics 12 mm² and 4.0 mm (Larsson 2007, from memory). Rounding 0.45 mm, from memory.
"""

import pytest

from casework.stages import guarded_by
from tests.casework.checks.good import findings, said_of
from tests.casework.checks.measures import TITANIUM, file, measured, value, zirconia

NAME = "connectors_sufficient"
SPAN = {"pontics": 1, "is_cantilever": False, "region": "molar"}


def test_guards():
    assert guarded_by(NAME) == {"submit_design", "approve_design"}


def area(amount, doubt=0.01, **details):
    more = {"is_joined": True} | SPAN | details
    return value("connector_area", "45-46", amount, "mm2", doubt, step="connectors", **more)


def height(amount):
    return value("connector_height", "45-46", amount, step="connectors")


def rounding(amount):
    return value("embrasure_radius", "45-46", amount, step="connectors")


@pytest.mark.parametrize(
    ("rows", "expected"),
    [
        ([area(9.2), height(3.1), rounding(0.5)], []),
        ([area(8.9)], ["ask small 45-46"]),
        ([area(9.0, doubt=0)], []),
        ([area(9.005)], ["ask within_doubt 45-46"]),
        ([area(9.2), height(2.9)], ["ask low 45-46"]),
        ([rounding(0.4)], ["ask sharp 45-46"]),
        ([area(11.9, pontics=2), height(3.9)], ["ask small 45-46", "ask low 45-46"]),
        ([area(7.5, region="anterior")], []),
        ([area(6.9, region="anterior")], ["ask small 45-46"]),
        ([area(0.0, is_joined=False)], ["ask not_joined 45-46"]),
        ([area(20.0, pontics=3)], ["ask no_limit 45-46"]),
        ([area(11.0, is_cantilever=True)], ["ask small 45-46"]),
        ([area(30.0, pontics=2, is_cantilever=True)], ["ask no_limit 45-46"]),
    ],
)
def test_one_connector(rows, expected):
    assert said_of(NAME, *rows) == expected


def test_a_small_connector_is_shown_with_limit_source_and_span():
    (found,) = findings(NAME, {"measured": measured(area(8.93))})

    assert (found.measured, found.limit) == ("8.9 mm²", "9 mm²")
    assert found.source.startswith("common practice, no source")
    assert found.values["span"] == "molar, 1 pontic"


def test_what_the_material_says_wins_with_its_source():
    materials = zirconia(connector_min_mm2="16")

    (found,) = findings(NAME, {"measured": measured(area(15), materials=materials)})

    assert (found.limit, found.source) == ("16 mm²", "its leaflet")
    assert said_of(NAME, area(17, pontics=3), materials=materials) == []


def test_metal_has_its_own_limit():
    # 3 mm x 3 mm: common practice, no source.
    files = [file("bridge.stl", "bridge", ("45", "46", "47"), "Metal")]
    told = {"files": files, "materials": {"Metal": TITANIUM}}

    assert said_of(NAME, area(9.1), **told) == []
    assert said_of(NAME, area(8.9), **told) == ["ask small 45-46"]


def test_without_units_or_material_no_limit_is_known():
    row = value("connector_area", "45-46", 20, "mm2", step="connectors", is_joined=True)
    files = [file("bridge.stl", "bridge", ("45", "46", "47"))]

    assert said_of(NAME, row) == ["ask no_span 45-46"]
    assert said_of(NAME, area(20), files=files) == ["ask no_material 45-46"]


def test_what_is_not_known_asks():
    row = value("connector_area", "45-46", None, "mm2", because="The surface is open there.")

    assert said_of(NAME, row) == ["ask value_not_known 45-46"]


def test_nothing_measured_says_nothing():
    assert said_of(NAME) == []
