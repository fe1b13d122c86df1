"""Are easy PINs refused and no others, and is only what a person typed kept?"""

import re
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from django import forms
from django.conf import settings
from django.contrib.auth.forms import SetPasswordForm

from orders.devices.rules import (
    KEPT_CHARACTERS_MOST,
    SECRET_FIELDS,
    UNTYPED_FIELDS,
    is_locked,
    is_worth_noting,
    objections_to_pin,
    typed_only,
)

NOW = datetime(2031, 5, 5, 9, tzinfo=UTC)


def minutes_ago(count):
    return NOW - timedelta(minutes=count)


@pytest.mark.parametrize("pin", ["2580", "1235", "19283746", "0001", "12125"])
def test_other_digits_are_a_pin(pin):
    assert objections_to_pin(pin) == ()


@pytest.mark.parametrize(
    "pin", ["123", "123456789", "12a4", "", "12 4", "\u0661\u0662\u0664\u0669", "-123"]
)
def test_what_is_not_four_to_eight_digits_is_no_pin(pin):
    assert objections_to_pin(pin) == ("A PIN is 4 to 8 digits.",)


@pytest.mark.parametrize(
    "pin", ["0000", "1234", "4321", "7890", "98765432", "1212", "123123", "55555", "90909090"]
)
def test_easy_pin_is_refused(pin):
    assert "tried first" in objections_to_pin(pin)[0]


def test_so_many_of_four_digits_are_refused_as_can_be_counted():
    """Ten of one digit, ninety of two that alternate, ten that run up and ten that run down."""
    refused = [n for n in range(10_000) if objections_to_pin(f"{n:04}")]

    assert len(refused) == 10 + 90 + 10 + 10


def test_so_many_of_five_digits_are_refused_as_can_be_counted():
    """Five is prime: ten of one digit, and twenty that run."""
    refused = [n for n in range(100_000) if objections_to_pin(f"{n:05}")]

    assert len(refused) == 10 + 20


@pytest.mark.parametrize(
    "idle_minutes,by_hand,locked",
    [(0, False, False), (4.99, False, False), (5, False, True), (0, True, True)],
)
def test_device_locks_by_hand_or_by_time(idle_minutes, by_hand, locked):
    locked_at = NOW if by_hand else None

    assert is_locked(locked_at, minutes_ago(idle_minutes), 5, NOW) is locked


def test_use_is_noted_every_twentieth_of_the_time_to_the_lock():
    assert not is_worth_noting(NOW - timedelta(seconds=14), 5, NOW)
    assert is_worth_noting(NOW - timedelta(seconds=15), 5, NOW)


def test_only_what_was_typed_is_kept():
    sent = [("note", "long\0"), ("teeth", "36"), ("teeth", "37"), ("password", "secret")]
    sent += [("csrfmiddlewaretoken", "x"), ("form-0-pin", "2580"), ("seen_revision", "3")]

    assert typed_only(sent) == [["note", "long"], ["teeth", "36"], ["teeth", "37"]]


def test_blank_form_and_a_far_too_long_one_are_not_kept():
    assert typed_only([("note", " "), ("token", "x")]) == []
    assert typed_only([("note", "x" * KEPT_CHARACTERS_MOST)]) == []


def all_forms(start=forms.BaseForm):
    for form in start.__subclasses__():
        yield form
        yield from all_forms(form)


def declared_with(widget):
    """Names of fields in our forms, and Django's for passwords, that have the widget."""
    ours = [one for one in all_forms() if one.__module__.startswith(("orders.", "casework."))]
    for form in [*ours, SetPasswordForm]:
        for name, field in getattr(form, "base_fields", {}).items():
            if isinstance(field.widget, widget):
                yield name


def test_no_field_for_a_secret_is_kept():
    import casework.urls  # noqa: F401  (so that every form is there)

    names = set(declared_with(forms.PasswordInput))

    assert {"old", "pin", "new_password1"} <= names <= SECRET_FIELDS


def test_no_field_that_nobody_types_is_kept():
    import casework.urls  # noqa: F401

    pages = Path(settings.BASE / "templates").rglob("*.html")
    written = re.compile(r'<input type="hidden" name="(\w+)"')
    on_pages = {name for page in pages for name in written.findall(page.read_text())}
    # One press, nothing typed; or pointed at in a view, and worth being shown again.
    others = {"day", "ready", "page", "place", "facing", "file", "site"}

    assert set(declared_with(forms.HiddenInput)) | on_pages <= UNTYPED_FIELDS | others
