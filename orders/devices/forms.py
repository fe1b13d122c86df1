"""What is typed to register a shared computer, to set a PIN, and to step in by it?"""

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as lazy

from orders.devices.rules import LOCK_AFTER_MINUTES_MOST, PIN_LONGEST, objections_to_pin
from orders.typing_fields import NoteField, OwnPasswordField


class PinField(forms.CharField):
    """Digits that are not shown; a telephone offers its keys for numbers."""

    def __init__(self, **more):
        attrs = {"inputmode": "numeric", "autocomplete": "off"}
        super().__init__(
            max_length=PIN_LONGEST, widget=forms.PasswordInput(attrs=attrs), **more
        )


class RegisterForm(forms.Form):
    name = NoteField(
        label=lazy("Name of this computer"),
        max_length=60,
        help_text=lazy("As everybody calls the place it stands at, for example Chair 2."),
    )
    password = OwnPasswordField()


class LockTimeForm(forms.Form):
    lock_after_minutes = forms.IntegerField(
        label=lazy("Lock when nobody is at it for (minutes)"),
        min_value=1,
        max_value=LOCK_AFTER_MINUTES_MOST,
    )


class PinForm(forms.Form):
    """A PIN, typed twice, and the password it stands on."""

    pin = PinField(
        label=lazy("PIN"),
        help_text=lazy("Four to eight digits, not running (1234) and not repeated (1212)."),
    )
    pin_again = PinField(label=lazy("PIN once more"))
    password = OwnPasswordField()

    def clean_pin(self):
        pin = self.cleaned_data["pin"]
        if against := objections_to_pin(pin):
            raise forms.ValidationError(list(against))
        return pin

    def clean(self):
        given = super().clean()
        if given.get("pin") and given.get("pin_again") not in (None, given["pin"]):
            self.add_error("pin_again", _("This is not what was typed above. Type both again."))
        return given


class EnterForm(forms.Form):
    """Who steps in at a locked screen, and by which PIN."""

    member = forms.TypedChoiceField(
        label=lazy("Who are you?"), coerce=int, widget=forms.RadioSelect
    )
    pin = PinField(label=lazy("PIN"))

    def __init__(self, *args, members=(), **kwargs):
        super().__init__(*args, **kwargs)
        self.by_id = {row.pk: row for row in members}
        self.fields["member"].choices = [(row.pk, row.person.name) for row in members]
        self.fields["pin"].widget.attrs["autofocus"] = True

    def clean_member(self):
        return self.by_id[self.cleaned_data["member"]]
