"""Do the same facts always become the same text, and different facts different text?"""

import json
from datetime import UTC, date, datetime, timedelta, timezone
from decimal import Decimal
from enum import StrEnum

import pytest
from hypothesis import given
from hypothesis import strategies as st

from orders.canonical import digest_of, digest_of_bytes, text_of

# Text without surrogates, which have no UTF-8 form (RFC 3629 section 3).
words = st.text(st.characters(exclude_categories=("Cs",)))
amounts = st.decimals(
    allow_nan=False, allow_infinity=False, min_value=-(10**9), max_value=10**9, places=6
)
moments = st.datetimes(
    min_value=datetime(1950, 1, 1), timezones=st.just(timezone(timedelta(hours=5)))
)
leaves = st.one_of(st.none(), st.booleans(), st.integers(), words, amounts, st.dates(), moments)
ascii_keys = st.text("abcdefghij_", min_size=1)
facts = st.recursive(
    leaves, lambda inner: st.lists(inner) | st.dictionaries(ascii_keys, inner), max_leaves=20
)


@given(facts)
def test_writing_what_was_read_back_gives_the_same_text(value):
    text = text_of(value)

    assert text_of(json.loads(text)) == text


@given(facts)
def test_text_can_be_encoded_and_hashed(value):
    assert len(digest_of(value)) == 64
    assert digest_of(value) == digest_of_bytes(text_of(value).encode())


@given(st.dictionaries(ascii_keys, leaves, min_size=2))
def test_order_of_keys_does_not_matter(table):
    assert text_of(dict(reversed(table.items()))) == text_of(table)


@pytest.mark.parametrize(
    ("value", "text"),
    [
        ({"b": 1, "a": [True, None]}, '{"a":[true,null],"b":1}'),
        (("45", "46"), '["45","46"]'),
        (Decimal("4.30"), '"4.3"'),
        (Decimal("100"), '"100"'),
        (Decimal("1E+2"), '"100"'),
        (Decimal("0.00"), '"0"'),
        (Decimal("-0.0"), '"0"'),
        (Decimal("-0.350"), '"-0.35"'),
        (Decimal("0.000001"), '"0.000001"'),
        # More digits than Python's default Decimal context keeps (28).
        (
            Decimal("1234567890123456789012345678901.5"),
            '"1234567890123456789012345678901.5"',
        ),
        (date(2026, 4, 3), '"2026-04-03"'),
        (datetime(2026, 4, 3, 9, 5, tzinfo=UTC), '"2026-04-03T09:05:00Z"'),
        (
            datetime(2026, 4, 3, 1, 5, tzinfo=timezone(timedelta(hours=2))),
            '"2026-04-02T23:05:00Z"',
        ),
        ("Bru\u0308cke", '"Br\u00fccke"'),
        ({"o\u0308": 1}, '{"\u00f6":1}'),
        ("\u5c71\n", '"\u5c71\\n"'),
    ],
)
def test_text_is_as_written_by_hand(value, text):
    assert text_of(value) == text


def test_word_of_an_enumeration_is_its_text():
    class Weight(StrEnum):
        STOP = "stop"

    assert text_of({Weight.STOP: Weight.STOP}) == '{"stop":"stop"}'


def test_keys_are_sorted_by_code_point_after_composing():
    assert text_of({"o\u0308": 1, "z": 2, "Z": 3}) == '{"Z":3,"z":2,"\u00f6":1}'


@pytest.mark.parametrize(
    "value", [0.1, {1, 2}, frozenset(), b"x", object(), 1j, datetime(2026, 4, 3), {1: "a"}]
)
def test_what_has_no_single_spelling_is_refused(value):
    with pytest.raises(TypeError):
        text_of({"figure": [value]})


def test_refusal_names_the_place():
    with pytest.raises(TypeError, match=r"facts\['sites'\]\[1\] is a float"):
        text_of({"sites": ["45", 4.7]})


@pytest.mark.parametrize(
    "value",
    [Decimal("NaN"), Decimal("Infinity"), Decimal("1E+999999"), Decimal("1E-999999"), "\ud800"],
)
def test_what_cannot_be_written_is_refused(value):
    with pytest.raises(ValueError, match="facts"):
        text_of(value)


def test_keys_equal_after_composing_are_refused():
    with pytest.raises(ValueError, match="twice"):
        text_of({"\u00f6": 1, "o\u0308": 2})


def test_text_and_number_differ():
    assert digest_of({"lot": "123"}) != digest_of({"lot": 123})


@pytest.mark.parametrize(
    ("data", "digest"),
    [
        # FIPS 180-4 example message "abc" and the empty message (NIST example values).
        (b"abc", "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"),
        (b"", "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"),
    ],
)
def test_digest_agrees_with_published_values(data, digest):
    assert digest_of_bytes(data) == digest
