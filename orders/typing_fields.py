"""How do form fields read what people type: numbers, days, teeth, identifiers, notes?

Each wraps `orders.typed` or `orders.teeth`; what cannot be read is an error beside the field.
A `TypingForm` is told the party whose notation and order of dates hold, and says them in words.
"""

import re
from datetime import UTC, date, datetime
from decimal import Decimal
from zoneinfo import ZoneInfo

from django import forms
from django.core.exceptions import ValidationError
from django.utils.text import capfirst, format_lazy
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from orders import teeth
from orders.teeth import Notation
from orders.typed.days import ORDERS, read_day
from orders.typed.identifiers import read_identifier, read_item_number
from orders.typed.numbers import read_number
from orders.typed.text import TypedUnreadable, clean_identifier, clean_text

# Digits, and what people, scanners and spreadsheets put between or instead of them.
_LOOKS_LIKE_ITEM_NUMBER = re.compile(r"'?[\dOoIl][\dOoIl\s.,eE+\u2010-\u2015-]{7,}")


class _Typed(str):
    """Text as it stands in a field that was sent; shown again as it was typed."""


class TypedField(forms.Field):
    """A field whose text is read by `read`; empty text is `empty`."""

    widget = forms.TextInput
    empty = None

    def read(self, text):
        raise NotImplementedError

    def write(self, value):
        return str(value)

    def to_python(self, value):
        if value is None or isinstance(value, str) and not clean_identifier(value):
            return self.empty
        if not isinstance(value, str):
            return value
        try:
            return self.read(value)
        except TypedUnreadable as unreadable:
            raise ValidationError(unreadable.sentence) from None

    def bound_data(self, data, initial):
        return _Typed(data) if isinstance(data, str) else data

    def prepare_value(self, value):
        if isinstance(value, _Typed) or value in self.empty_values:
            return value
        return self.write(value)

    def has_changed(self, initial, data):
        try:
            return self.to_python(data) != (self.empty if initial in ("", None) else initial)
        except ValidationError:
            return True

    @property
    def said_as(self):
        return str(self.label or "")

    def adapt_to(self, party, today):
        """Take the party's habits over and say them; nothing for most fields."""


class NumberField(TypedField):
    """A decimal number in a stated unit."""

    def __init__(self, *, unit="", minimum=None, maximum=None, places=2, **more):
        self.unit, self.minimum, self.maximum = unit, minimum, maximum
        self.places = places
        super().__init__(**more)
        if unit and not self.help_text:
            self.help_text = format_lazy(gettext_lazy("in {unit}"), unit=unit)

    def widget_attrs(self, widget):
        return {"inputmode": "decimal", "autocomplete": "off"}

    def read(self, text):
        return read_number(
            text,
            field=self.said_as,
            unit=self.unit,
            minimum=self.minimum,
            maximum=self.maximum,
            places=self.places,
        )

    def write(self, value):
        if isinstance(value, Decimal):
            text = format(value, "f")
            return text.rstrip("0").rstrip(".") if "." in text else text
        return str(value)


class CountField(NumberField):
    """A whole number."""

    def __init__(self, **more):
        super().__init__(places=0, **{"minimum": 0, "maximum": 32767} | more)

    def read(self, text):
        return int(super().read(text))


class DayField(TypedField):
    """A day; year-month-day always, the party's own order too."""

    def __init__(self, *, not_in_future=False, earliest=None, **more):
        self.not_in_future, self.earliest = not_in_future, earliest
        self.order, self.today = "iso", None
        super().__init__(**more)

    def widget_attrs(self, widget):
        return {"autocomplete": "off"}

    def adapt_to(self, party, today):
        self.order = getattr(party, "date_order", "iso")
        self.today = today
        said = _("as {order}").format(order=ORDERS[self.order])
        if str(self.help_text).endswith("."):
            said = f"{capfirst(said)}."
        self.help_text = f"{self.help_text} {said}".strip()

    def read(self, text):
        return read_day(
            text,
            field=self.said_as,
            order=self.order,
            earliest=self.earliest,
            today=self.today if self.not_in_future else None,
        )

    def write(self, value):
        return value.isoformat() if isinstance(value, date) else str(value)


class _Notated(TypedField):
    """A field that reads tooth numbers in the party's notation."""

    def __init__(self, **more):
        self.notation = Notation.ISO
        super().__init__(**more)

    def widget_attrs(self, widget):
        return {"autocomplete": "off"}

    def adapt_to(self, party, today):
        self.notation = Notation(getattr(party, "notation", "iso"))
        said = _("read as {notation}").format(notation=teeth.LABELS[self.notation])
        self.help_text = f"{self.help_text} {said}".strip()


class ToothField(_Notated):
    """One tooth; its value is the ISO 3950 code."""

    empty = ""

    def read(self, text):
        return teeth.read_tooth(text, self.notation)

    def write(self, value):
        try:
            return teeth.write_tooth(value, self.notation)
        except ValueError:
            return str(value)


class TeethField(_Notated):
    """Teeth typed as a list of teeth and ranges; its value is a tuple of ISO 3950 codes."""

    empty = ()

    def read(self, text):
        return teeth.read_range(text, self.notation)

    def write(self, value):
        return teeth.write_span(value, self.notation)

    def has_changed(self, initial, data):
        return super().has_changed(tuple(initial or ()), data)


class IdentifierField(TypedField):
    """A lot or serial, kept exactly as printed."""

    empty = ""

    def __init__(self, *, longest=40, **more):
        self.longest = longest
        super().__init__(**more)

    def widget_attrs(self, widget):
        return {"autocomplete": "off", "spellcheck": "false", "autocapitalize": "off"}

    def read(self, text):
        return read_identifier(text, field=self.said_as, longest=self.longest)


class DeviceIdentifierField(IdentifierField):
    """A device identifier: an item number as its 14 digits, anything else as printed."""

    def read(self, text):
        if _LOOKS_LIKE_ITEM_NUMBER.fullmatch(clean_identifier(text)):
            return read_item_number(text, field=self.said_as)
        return super().read(text)


class NoteField(forms.CharField):
    """Free text, cleaned of what nobody sees, with its line ends made one kind."""

    def __init__(self, *, lines=1, max_length=None, **more):
        # A browser counts a line end as one character and sends two.
        self.lines, self.longest = lines, max_length or 50_000
        widget = forms.TextInput if lines == 1 else forms.Textarea(attrs={"rows": lines})
        super().__init__(**{"widget": widget, "strip": False} | more)

    def to_python(self, value):
        text = clean_text(super().to_python(value))
        if self.lines == 1:
            text = " ".join(text.split("\n"))
        if len(text) > self.longest:
            raise ValidationError(
                _("This text has {count} characters; at most {most} can be kept.").format(
                    count=len(text), most=self.longest
                )
            )
        return text


class OwnPasswordField(forms.CharField):
    """The password of whoever is signed in, entered again."""

    LONGEST = 4096

    def __init__(self, label=None):
        super().__init__(
            label=label or gettext_lazy("Your password, entered again"),
            strip=False,
            max_length=self.LONGEST,
            widget=forms.PasswordInput({"autocomplete": "current-password"}),
        )


class PlaceField(forms.CharField):
    """A place or direction that the page's script wrote as three numbers; None if empty."""

    FARTHEST = 1000.0  # millimetres from the scan's origin: no mouth is that large

    def __init__(self):
        super().__init__(widget=forms.HiddenInput, required=False, max_length=60)

    def to_python(self, value):
        text = super().to_python(value)
        if not text:
            return None
        try:
            numbers = [float(word) for word in text.split()]
        except ValueError:
            numbers = []
        if len(numbers) != 3 or not all(abs(x) <= self.FARTHEST for x in numbers):
            raise forms.ValidationError(
                _("The place on the surface was not understood. Press it again.")
            )
        return numbers


class YesNoField(forms.TypedChoiceField):
    """Yes, no, or not said (None)."""

    def __init__(self, *, yes=None, no=None, **more):
        choices = [("", _("not said")), ("yes", yes or _("yes")), ("no", no or _("no"))]
        super().__init__(
            **{
                "choices": choices,
                "coerce": lambda text: text == "yes",
                "empty_value": None,
                "required": False,
            }
            | more
        )

    def prepare_value(self, value):
        return {True: "yes", False: "no", None: ""}.get(value, value)

    def has_changed(self, initial, data):
        return super().has_changed(self.prepare_value(initial), data)


def today_at(party):
    """The day it is where the party works."""
    zone = getattr(party, "time_zone", "")
    return datetime.now(ZoneInfo(zone) if zone else UTC).date()


class TypingForm(forms.Form):
    """A form whose fields read as the party writes."""

    # Not `use_required_attribute`: a half-filled form must reach the server and come back.
    use_required_attribute = False

    def __init__(self, *args, party=None, today=None, **more):
        super().__init__(*args, **more)
        self.party = party
        self.today = today or today_at(party)
        for field in self.fields.values():
            if isinstance(field, TypedField):
                field.adapt_to(party, self.today)

    def add_objections(self, found):
        """Show a rule's objections beside the fields they hang on."""
        for objection in found:
            self.add_error(
                objection.field if objection.field in self.fields else None,
                objection.sentence,
            )


class RowForm(TypingForm):
    """One row of a table of fields: what the table's head says is said to each field's ear."""

    def __init__(self, *args, row="", **more):
        super().__init__(*args, **more)
        for field in self.fields.values():
            field.help_text = ""
            label = f"{row}: {field.label}" if row else str(field.label)
            field.widget.attrs["aria-label"] = label


class RevisedForm(TypingForm):
    """A form on a record that counts revisions: it carries the one that was seen."""

    seen_revision = forms.IntegerField(widget=forms.HiddenInput, required=False)


def as_choices(words, blank=None):
    """Plain words as choices, with a first empty one where `blank` says so."""
    chosen = [(word, word) for word in words]
    return chosen if blank is None else [("", blank), *chosen]
