"""Are the limits that are drawn on scales those by which the checks judge?"""

from dataclasses import replace
from decimal import Decimal

from casework.findings.scales import limits_drawn
from casework.limits import limit

ZIRCONIA = {"family": "zirconia", "limits": {}, "source": ""}


def test_limits_of_a_restoration_by_what_colours_it():
    """The table of docs/limits.md: walls of zirconia 1.0 and 0.6 mm, 120 µm, 0 to 30 µm."""
    walls = [("occlusal", 1.0), ("axial", 0.6)]

    assert limits_drawn(ZIRCONIA, limit) == {
        "wall": walls,
        "thickness": walls,
        "gap": [("margin", 0.12)],
        "clearance": [("contact", 0.0), ("relief", 0.03)],
    }


def test_the_materials_own_limit_and_that_of_the_practice_win():
    own = ZIRCONIA | {"limits": {"axial_min_mm": "0.75"}}

    def of_practice(name):
        return replace(limit(name), value=Decimal("0.9"))

    walls = limits_drawn(own, of_practice)["wall"]

    assert walls == [("occlusal", 0.9), ("axial", 0.75)]


def test_a_material_without_limits_has_no_line():
    assert limits_drawn(None, limit)["wall"] == []
    assert limits_drawn({"family": "resin", "limits": {}}, limit)["wall"] == []
