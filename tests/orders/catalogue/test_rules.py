"""Do material classes carry what the standards' tables say they carry?"""

import csv
from pathlib import Path

import pytest

from orders.catalogue.rules import (
    CERAMIC_CLASSES,
    FAMILY_LABELS,
    METAL_TYPES,
    Family,
    class_needed,
    class_of_strength,
    type_needed,
)

DATA = Path(__file__).parents[2] / "data"


def rows_of(name):
    """Rows of a table whose first line names its source."""
    with (DATA / name).open(encoding="utf-8", newline="") as lines:
        next(lines)
        return list(csv.DictReader(lines))


# ISO 6872:2015 Table 1, from memory; ISO 22674, secondary source (see their first lines).
CERAMIC_ROWS = rows_of("ceramic_classes.csv")
METAL_ROWS = rows_of("metal_types.csv")


@pytest.mark.parametrize("row", CERAMIC_ROWS, ids=lambda row: row["class"] + row["sub"])
def test_ceramic_class_agrees_with_the_table(row):
    known = CERAMIC_CLASSES[int(row["class"])]

    assert known.strength_mpa == int(row["min_flexural_strength_MPa"])
    assert known.toughness == row["recommended_fracture_toughness_MPa_sqrt_m"]
    if row["max_units"]:
        most = {"4 or more": None}.get(row["max_units"], row["max_units"])
        assert known.max_units == (most and int(most))


@pytest.mark.parametrize(
    "row",
    [row for row in CERAMIC_ROWS if row["max_units"]],
    ids=lambda row: row["class"] + row["sub"],
)
def test_molars_are_allowed_where_the_table_allows_them(row):
    known = CERAMIC_CLASSES[int(row["class"])]
    single, bridge = {
        "no": (False, False),
        "yes": (True, row["max_units"] != "1"),
        "single unit only": (True, False),
    }[row["molar_allowed"]]

    assert (known.molar_single, known.molar_bridge) == (single, bridge)


@pytest.mark.parametrize("row", METAL_ROWS, ids=lambda row: row["type"])
def test_metal_type_agrees_with_the_table(row):
    known = METAL_TYPES[int(row["type"])]
    stress = row["min_proof_stress_0_2_MPa"]
    elongation = row["min_elongation_percent_from_memory"]

    assert known.proof_stress_mpa == (int(stress) if stress else None)
    assert known.elongation_percent == (int(elongation) if elongation else None)


def test_tables_are_whole():
    assert {int(row["class"]) for row in CERAMIC_ROWS} == set(CERAMIC_CLASSES)
    assert {int(row["type"]) for row in METAL_ROWS} == set(METAL_TYPES)


# (units, molar, front, bonded) to class, by hand from the indications of ISO 6872:2015.
@pytest.mark.parametrize(
    ("units", "molar", "front", "bonded", "needed"),
    [
        (1, False, True, True, 1),
        (1, False, False, True, 2),
        (1, True, False, True, 2),
        (1, False, True, False, 3),
        (1, True, False, False, 3),
        (2, False, False, False, 3),
        (3, False, False, False, 3),
        (3, False, True, True, 3),
        (2, True, False, False, 4),
        (3, True, False, False, 4),
        (3, True, False, True, 4),
        (4, False, True, False, 5),
        (4, True, False, False, 5),
        (10, True, False, False, 5),
    ],
)
def test_class_needed_for_a_piece(units, molar, front, bonded, needed):
    assert class_needed(units, molar, is_front=front, is_bonded=bonded) == needed


@pytest.mark.parametrize("molar", [False, True])
@pytest.mark.parametrize("units", range(1, 15))
def test_class_needed_is_the_least_that_the_table_allows(units, molar):
    def carries(row):
        enough = row.max_units is None or units <= row.max_units
        return enough and (not molar or (row.molar_bridge if units > 1 else row.molar_single))

    allowed = [
        row.number for row in CERAMIC_CLASSES.values() if carries(row) and row.number > 2
    ]

    assert class_needed(units, molar) == min(allowed)


@pytest.mark.parametrize(
    ("units", "on_implants", "needed"),
    [(1, False, 2), (2, False, 3), (3, False, 3), (4, False, 4), (1, True, 4), (3, True, 4)],
)
def test_metal_type_needed_for_a_piece(units, on_implants, needed):
    assert type_needed(units, on_implants=on_implants) == needed


@pytest.mark.parametrize("count", [0, -1])
def test_a_piece_without_units_is_no_piece(count):
    with pytest.raises(ValueError, match="unit_count"):
        class_needed(count, False)
    with pytest.raises(ValueError, match="unit_count"):
        type_needed(count)


@pytest.mark.parametrize(
    ("mpa", "reached"),
    [
        (49, None),
        (50, 1),
        (99, 1),
        (100, 2),
        (299, 2),
        (300, 3),
        (499, 3),
        (500, 4),
        (799, 4),
        (800, 5),
        (1200, 5),
    ],
)
def test_class_follows_from_the_strength_on_the_certificate(mpa, reached):
    assert class_of_strength(mpa) == reached


def test_every_family_has_a_label():
    assert set(FAMILY_LABELS) == set(Family)
