"""Does every notation name the tooth that the published tables name?"""

import csv
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from orders.teeth import (
    AREAS,
    CODES,
    LABELS,
    Jaw,
    Notation,
    ToothUnreadable,
    along_arch,
    are_contiguous,
    area_of,
    describe,
    in_arch_order,
    is_front,
    is_molar,
    is_primary,
    jaw_of,
    neighbours,
    opposing,
    possible_readings,
    read_range,
    read_tooth,
    side_of,
    warn_of_other_readings,
    write_span,
    write_tooth,
)

# The first line of the file names its sources: the rule of ISO 3950 and the English meaning of
# DICOM PS3.16 context groups 4018 and 4019.
TABLE = Path(__file__).parents[1] / "data" / "tooth_notation.csv"
with TABLE.open(encoding="utf-8", newline="") as lines:
    next(lines)
    ROWS = list(csv.DictReader(lines))
ISO, UNIVERSAL, QUADRANT = Notation.ISO, Notation.UNIVERSAL, Notation.QUADRANT
each_tooth = pytest.mark.parametrize("row", ROWS, ids=lambda row: row["iso3950"])


def test_table_has_every_tooth_once():
    assert len(ROWS) == 52
    assert {row["iso3950"] for row in ROWS} == set(CODES)


@each_tooth
def test_every_notation_agrees_with_the_table(row):
    code = row["iso3950"]

    assert read_tooth(code, ISO) == code
    assert read_tooth(row["universal"], UNIVERSAL) == code
    assert read_tooth(row["palmer"], QUADRANT) == code
    assert [write_tooth(code, notation) for notation in Notation] == [
        code,
        row["universal"],
        row["palmer"],
    ]


@each_tooth
def test_place_agrees_with_the_table(row):
    code, jaw = row["iso3950"], {"maxillary": "upper", "mandibular": "lower"}[row["arch"]]
    beside = (row["neighbour_toward_patient_right"], row["neighbour_toward_patient_left"])

    assert jaw_of(code) == jaw
    assert side_of(code) == row["side"]
    assert is_primary(code) == (row["dentition"] == "primary")
    assert neighbours(code) == tuple(filter(None, beside))
    assert opposing(code) == row["opposing"]
    arch = along_arch(Jaw(jaw), primary=is_primary(code))
    assert arch.index(code) + 1 == int(row["arch_order_from_patient_right"])


@each_tooth
def test_name_agrees_with_the_published_meaning(row):
    meaning = row["sct_meaning"].lower().removesuffix(" tooth")
    meaning = meaning.replace("maxillary", "upper").replace("mandibular", "lower")
    meaning = meaning.removeprefix("permanent ").replace("deciduous", "primary")
    # The published meaning of 32 leaves the word "incisor" out.
    meaning = meaning + " incisor" if meaning.endswith("lateral") else meaning

    assert describe(row["iso3950"]) == meaning


@each_tooth
def test_kind_of_tooth_agrees_with_its_name(row):
    assert is_molar(row["iso3950"]) == row["name"].endswith("molar") - row["name"].endswith(
        "premolar"
    )
    assert is_front(row["iso3950"]) == row["name"].endswith(("incisor", "canine"))


@pytest.mark.parametrize(
    ("text", "notation", "code"),
    [
        ("12", ISO, "12"),
        ("12", UNIVERSAL, "24"),
        ("1", UNIVERSAL, "18"),
        ("16", UNIVERSAL, "28"),
        ("17", UNIVERSAL, "38"),
        ("32", UNIVERSAL, "48"),
        ("48", ISO, "48"),
        ("8", UNIVERSAL, "11"),
        ("9", UNIVERSAL, "21"),
        ("11", UNIVERSAL, "23"),
        ("22", UNIVERSAL, "33"),
    ],
)
def test_c14_the_stated_notation_decides(text, notation, code):
    assert read_tooth(text, notation) == code


def test_c14_an_unmarked_number_shows_every_tooth_it_could_be():
    assert possible_readings("12") == {ISO: "12", UNIVERSAL: "24"}
    assert possible_readings("33") == {ISO: "33"}
    assert possible_readings("UR5") == {QUADRANT: "15"}
    assert possible_readings("8") == {UNIVERSAL: "11"}
    assert possible_readings("99") == {}


def test_c14_the_other_reading_is_said_in_words():
    said = warn_of_other_readings("12", ISO)

    assert said == (
        "'12' was read in ISO 3950 as the upper right lateral incisor (ISO 12); in universal "
        "notation it would be the upper left first premolar (ISO 24)."
    )


def test_c14_the_other_reading_of_a_range_is_said_too():
    said = warn_of_other_readings("12-14", ISO)

    assert "upper right first premolar to upper right lateral incisor (ISO 12-14)" in said
    assert "upper left first premolar to upper left second molar" not in said
    assert "(ISO 24-26)" in said


@pytest.mark.parametrize(("text", "notation"), [("33", ISO), ("45-47", ISO), ("UR5", QUADRANT)])
def test_c14_what_has_one_reading_needs_no_warning(text, notation):
    assert warn_of_other_readings(text, notation) == ""


def test_c14_a_number_of_the_other_notation_is_refused_with_its_meaning():
    with pytest.raises(ToothUnreadable, match="lower left canine.*notation"):
        read_tooth("33", UNIVERSAL)


@pytest.mark.parametrize(
    ("text", "notation"),
    [
        ("", ISO),
        ("   ", ISO),
        ("19", ISO),
        ("56", ISO),
        ("01", ISO),
        ("1.2", ISO),
        ("11 12", ISO),
        ("0", UNIVERSAL),
        ("33", UNIVERSAL),
        ("08", UNIVERSAL),
        ("U", UNIVERSAL),
        ("l", UNIVERSAL),
        ("UR9", QUADRANT),
        ("URF", QUADRANT),
        ("RU1", QUADRANT),
        ("x" * 100_000, QUADRANT),
    ],
)
def test_what_names_no_tooth_is_refused(text, notation):
    with pytest.raises(ToothUnreadable) as refused:
        read_tooth(text, notation)

    assert len(refused.value.sentence) < 300


@pytest.mark.parametrize(
    "text", ["ur5", "UR 5", " Ur5\r\n", "\u200bUR\u00a05", "\uff35\uff325"]
)
def test_c19_invisible_and_wide_characters_do_not_matter(text):
    assert read_tooth(text, QUADRANT) == "15"


@pytest.mark.parametrize(
    ("text", "teeth"),
    [
        ("13-23", "13 12 11 21 22 23"),
        ("23-13", "13 12 11 21 22 23"),
        ("45-35", "45 44 43 42 41 31 32 33 34 35"),
        ("35-45", "45 44 43 42 41 31 32 33 34 35"),
        ("14 - 12", "14 13 12"),
        ("12\u201314", "14 13 12"),
        ("12 to 14", "14 13 12"),
        ("11-21", "11 21"),
        ("36", "36"),
        ("36-36", "36"),
        ("45-47, 36", "47 46 45 36"),
        ("36;45 and 46", "46 45 36"),
        ("47, 15", "15 47"),
        ("53-63", "53 52 51 61 62 63"),
        ("75-73", "73 74 75"),
        ("18-28", " ".join(along_arch(Jaw.UPPER))),
    ],
)
def test_c17_a_range_follows_the_arch(text, teeth):
    assert read_range(text, ISO) == tuple(teeth.split())


@pytest.mark.parametrize(
    ("text", "notation", "teeth"),
    [
        ("6-11", UNIVERSAL, "13 12 11 21 22 23"),
        ("29-31", UNIVERSAL, "47 46 45"),
        ("20-29", UNIVERSAL, "45 44 43 42 41 31 32 33 34 35"),
        ("C-H", UNIVERSAL, "53 52 51 61 62 63"),
        ("UR3-UL3", QUADRANT, "13 12 11 21 22 23"),
        ("LR 5 - LR 7, LL 6", QUADRANT, "47 46 45 36"),
    ],
)
def test_c17_a_range_is_read_in_every_notation(text, notation, teeth):
    assert read_range(text, notation) == tuple(teeth.split())


@pytest.mark.parametrize("text", ["18-48", "36-26", "13, 18-48"])
def test_c17_a_range_across_the_jaws_is_refused(text):
    with pytest.raises(ToothUnreadable, match="one jaw"):
        read_range(text, ISO)


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("45-47, 46", "twice"),
        ("45, 45", "twice"),
        ("45-46-47", "no range"),
        ("45-", "no range"),
        ("-", "no range"),
        ("11-53", "permanent or over primary"),
        ("45-49", "'49' is no tooth"),
        (",", "no tooth"),
        ("", "at least one"),
        ("11," * 5000, "too long"),
    ],
)
def test_c17_what_is_no_range_is_refused(text, why):
    with pytest.raises(ToothUnreadable, match=why):
        read_range(text, ISO)


@pytest.mark.parametrize(
    ("codes", "iso", "universal", "quadrant"),
    [
        ("45 46 47", "45-47", "29-31", "LR5-LR7"),
        ("13 12 11 21 22 23", "13-23", "6-11", "UR3-UL3"),
        ("36 45 46 47", "45-47, 36", "29-31, 19", "LR5-LR7, LL6"),
        ("11 21", "11, 21", "8, 9", "UR1, UL1"),
        ("47 45", "47, 45", "31, 29", "LR7, LR5"),
        ("85", "85", "T", "LRE"),
        ("", "", "", ""),
    ],
)
def test_teeth_are_written_briefly(codes, iso, universal, quadrant):
    written = [write_span(codes.split(), notation) for notation in Notation]

    assert written == [iso, universal, quadrant]


@given(st.sets(st.sampled_from(CODES), min_size=1), st.sampled_from(Notation))
def test_what_was_written_is_read_back(codes, notation):
    assert read_range(write_span(codes, notation), notation) == in_arch_order(codes)


@pytest.mark.parametrize(
    ("codes", "holds"),
    [
        ("45 46 47", True),
        ("47 45 46", True),
        ("12 11 21", True),
        ("41 31", True),
        ("36", True),
        ("45 47", False),
        ("11 41", False),
        ("13 53", False),
        ("45 45", False),
        ("", False),
    ],
)
def test_teeth_side_by_side(codes, holds):
    assert are_contiguous(codes.split()) is holds


# Areas of ISO 3950, from memory.
@pytest.mark.parametrize(
    ("codes", "area"),
    [
        ("45 46 47", "08"),
        ("14 18", "03"),
        ("13 23", "04"),
        ("24", "05"),
        ("35", "06"),
        ("43 33", "07"),
        ("13 14", "10"),
        ("23 24", "20"),
        ("33 34", "30"),
        ("43 44", "40"),
        ("14 24", "01"),
        ("44 34", "02"),
        ("11 41", "00"),
    ],
)
def test_smallest_area_that_holds_the_teeth(codes, area):
    assert area_of(codes.split()) == area
    assert area in AREAS


@pytest.mark.parametrize(
    "ask", [describe, jaw_of, side_of, is_molar, is_front, neighbours, opposing]
)
@pytest.mark.parametrize("code", ["", "9", "99", "19", None, 45])
def test_no_answer_about_what_is_no_tooth(ask, code):
    with pytest.raises(ToothUnreadable):
        ask(code)


def test_every_notation_has_its_words():
    assert set(LABELS) == set(Notation)
