"""Is every least connector the figure of the table, and is none guessed where it has none?"""

import csv
from decimal import Decimal
from pathlib import Path

import pytest

from casework.limits.connectors import CONNECTORS, connector_limit

# Ranges printed in instructions of materials, from memory; the first line says how sure.
TABLE = Path(__file__).parents[2] / "data" / "connector_minimums.csv"
with TABLE.open(encoding="utf-8", newline="") as lines:
    next(lines)
    PUBLISHED = list(csv.DictReader(lines))
MATERIALS = {
    "zirconia_class5": ("zirconia", 5),
    "zirconia_class4": ("zirconia", 4),
    "lithium_disilicate": ("lithium disilicate", 3),
    "metal_type4_or_5": ("metal", 4),
    "provisional_resin": ("polymer", None),
}
# A region of the table as one of those in which a connector can stand.
REGIONS = {"posterior": "molar", "any": "molar"}


@pytest.mark.parametrize("row", PUBLISHED, ids=lambda row: "-".join(list(row.values())[:4]))
def test_connector_is_the_published_figure(row):
    family, strength_class = MATERIALS[row["material_family"]]
    region = REGIONS.get(row["region"], row["region"])
    is_cantilever = row["cantilever"] == "yes"
    # The table counts pontics between retainers; of a cantilever one unit hangs.
    pontics = 1 if is_cantilever else int(row["pontics_between_abutments"])

    found = connector_limit(family, strength_class, region, pontics, is_cantilever)

    figures = (found.area_mm2, found.low_mm2, found.high_mm2, found.height_mm)
    assert figures == tuple(
        Decimal(row[name])
        for name in (
            "default_min_area_mm2",
            "range_low_mm2",
            "range_high_mm2",
            "default_min_height_mm",
        )
    )


def test_the_table_has_no_other_rows():
    assert len(CONNECTORS) == len(PUBLISHED)


@pytest.mark.parametrize("row", CONNECTORS, ids=lambda row: f"{row.families} {row.area_mm2}")
def test_every_row_says_that_no_standard_fixes_it(row):
    assert row.source.startswith("common practice, no source")
    assert row.low_mm2 <= row.area_mm2 <= row.high_mm2


@pytest.mark.parametrize(
    ("family", "strength_class", "region", "pontics", "is_cantilever"),
    [
        ("zirconia", 5, "molar", 3, False),  # longer than any row
        ("zirconia", 4, "molar", 2, False),  # class 4: three units at most
        ("zirconia", 3, "anterior", 1, False),
        ("zirconia", None, "anterior", 1, False),  # the class decides, so it must be known
        ("zirconia", 4, "molar", 1, True),
        ("zirconia", 5, "molar", 2, True),  # two hanging units
        ("lithium disilicate", 3, "molar", 1, False),
        ("metal", 3, "molar", 1, False),
        ("polymer", None, "premolar", 1, False),
        ("", None, "anterior", 0, False),
    ],
)
def test_no_limit_is_known_where_no_row_is(
    family, strength_class, region, pontics, is_cantilever
):
    found = connector_limit(family, strength_class, region, pontics, is_cantilever)

    assert found is None


@pytest.mark.parametrize(
    ("family", "strength_class", "region", "pontics", "area"),
    [
        ("metal", 5, "premolar", 1, "9"),  # up to two pontics
        ("titanium", 4, "anterior", 2, "6.25"),  # ISO 22674 has titanium among its metals
        ("zirconia", 4, "anterior", 0, "12"),
        ("zirconia", 5, "premolar", 2, "12"),
    ],
)
def test_a_row_holds_for_fewer_pontics_and_for_both_back_regions(
    family, strength_class, region, pontics, area
):
    found = connector_limit(family, strength_class, region, pontics, False)

    assert found.area_mm2 == Decimal(area)
