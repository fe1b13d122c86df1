"""Do form fields read what people type, and give it back as it was typed?"""

from datetime import date
from decimal import Decimal
from types import SimpleNamespace

import pytest

from orders.typing_fields import (
    DayField,
    DeviceIdentifierField,
    IdentifierField,
    NoteField,
    NumberField,
    TeethField,
    ToothField,
    TypingForm,
    YesNoField,
)


class Form(TypingForm):
    length = NumberField(label="Length", unit="mm", required=False)
    day = DayField(label="Day", required=False, not_in_future=True)
    tooth = ToothField(label="Tooth", required=False)
    teeth = TeethField(label="Teeth", required=False)
    lot = IdentifierField(label="Lot", required=False)
    item = DeviceIdentifierField(label="Item", required=False, longest=120)
    note = NoteField(label="Note", lines=3, required=False)
    line = NoteField(label="Line", required=False, max_length=10)
    held = YesNoField(label="Held")


def party(notation="iso", date_order="iso"):
    return SimpleNamespace(notation=notation, date_order=date_order, time_zone="UTC")


def read(name, text, **habits):
    form = Form({name: text}, party=party(**habits), today=date(2026, 4, 10))
    form.is_valid()
    return form.errors.get(name, [""])[0] or form.cleaned_data[name]


@pytest.mark.parametrize(
    "text, value",
    [
        ("4,3", Decimal("4.3")),
        ("4.3", Decimal("4.3")),
        ("0,15", Decimal("0.15")),
        (" 4.3 mm", Decimal("4.3")),
        ("", None),
    ],
)
def test_e06_decimal_comma_is_a_decimal_point(text, value):
    assert read("length", text) == value


@pytest.mark.parametrize("text", ["1.234,5", "1,234.5", "4,300", "4,3,2", "4..3"])
def test_e06_what_can_be_read_two_ways_is_refused(text):
    assert isinstance(read("length", text), str)


def test_e10_days_are_read_in_the_partys_order_and_say_so():
    assert read("day", "2026-04-03") == date(2026, 4, 3)
    assert read("day", "03/04/2026", date_order="dmy") == date(2026, 4, 3)
    assert read("day", "03/04/2026", date_order="mdy") == date(2026, 3, 4)
    assert "2026-04-03" in read("day", "03/04/2026")
    form = Form(party=party(date_order="dmy"))
    assert "day/month/year" in form.fields["day"].help_text


@pytest.mark.parametrize("text", ["31.12.26", "2026-13-01", "2025-02-29", "2031-01-01"])
def test_e10_days_that_cannot_be_are_refused(text):
    assert isinstance(read("day", text, date_order="dmy"), str)


@pytest.mark.parametrize(
    "text, notation, code",
    [
        ("12", "iso", "12"),
        ("12", "universal", "24"),
        ("1", "universal", "18"),
        ("16", "universal", "28"),
        ("17", "universal", "38"),
        ("32", "universal", "48"),
        ("UR3", "quadrant", "13"),
    ],
)
def test_c14_teeth_are_read_in_the_partys_notation(text, notation, code):
    assert read("tooth", text, notation=notation) == code
    help_text = Form(party=party(notation=notation)).fields["tooth"].help_text
    assert "read as" in help_text


def test_c17_range_across_the_midline_and_across_the_jaws():
    assert read("teeth", "13-23") == ("13", "12", "11", "21", "22", "23")
    assert "jaw" in read("teeth", "18-48")


def test_c13_lot_is_kept_and_its_blank_refused():
    assert read("lot", "A-12/B") == "A-12/B"
    assert "blank" in read("lot", "A 12")


@pytest.mark.parametrize(
    "text", ["0 952123 4543213", "0952-1234-543213", "9521234543213", "09521234543213"]
)
def test_c13_c16_item_number_is_one_however_it_is_spaced(text):
    assert read("item", text) == "09521234543213"


@pytest.mark.parametrize("text", ["9.52123E+12", "O952I234543213", "09521234543214"])
def test_c15_c16_item_number_that_cannot_be_is_refused(text):
    assert " " in read("item", text)


def test_whole_device_identifier_is_kept_as_printed():
    assert read("item", "(01)09521234543213(10)A-12/B") == "(01)09521234543213(10)A-12/B"


def test_c19_invisible_characters_are_taken_away():
    assert read("lot", "\ufeffLOT42A\u200b\t") == "LOT42A"
    assert read("lot", "\uff11\uff12") == "12"
    assert read("note", "one\r\ntwo\x00 ") == "one\ntwo"


def test_too_long_text_is_refused_with_its_limit():
    assert "10" in read("line", "x" * 11)
    assert read("note", "n" * 23_012) == "n" * 23_012


def test_value_and_typed_text_are_shown_differently():
    shown = Form(initial={"teeth": ("47", "46", "45")}, party=party())
    typed = Form({"teeth": "45 - 47, 99"}, party=party())

    assert shown["teeth"].value() == "45-47"
    assert typed["teeth"].value() == "45 - 47, 99"
    assert Form(initial={"tooth": "24"}, party=party("universal"))["tooth"].value() == "12"


def test_unchanged_fields_are_not_taken_for_changed():
    initial = {"length": Decimal("4.30"), "teeth": ["47", "46"], "day": date(2026, 4, 1)}
    initial |= {"held": None}
    form = Form(
        {"length": "4.3", "teeth": "46, 47", "day": "2026-04-01", "held": ""},
        initial=initial,
        party=party(),
        today=date(2026, 4, 10),
    )

    assert form.is_valid(), form.errors
    assert form.changed_data == []


@pytest.mark.parametrize(
    ("help_text", "shown"),
    [
        ("", "as year-month-day, for example 2026-04-13"),
        (
            "The first day back.",
            "The first day back. As year-month-day, for example 2026-04-13.",
        ),
        ("the last day,", "the last day, as year-month-day, for example 2026-04-13"),
    ],
)
def test_how_a_day_is_typed_ends_or_follows_what_else_is_said(help_text, shown):
    field = DayField(help_text=help_text)

    field.adapt_to(None, date(2026, 4, 1))

    assert field.help_text == shown
