"""What does a person type to sign in, about a member, about a party?"""

from zoneinfo import available_timezones

import holidays
from django import forms
from django.contrib.auth.forms import AuthenticationForm
from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as lazy

from orders import teeth
from orders.parties.models import Person
from orders.parties.queries import memberships_of
from orders.roles import LABELS, ROLES_AT, PartyKind, Role
from orders.typed.days import ORDERS
from orders.typing_fields import DayField, NoteField, OwnPasswordField, TypingForm


class SignInForm(AuthenticationForm):
    """E-mail and password. Whatever is wrong, the answer is the same."""

    error_messages = {
        "invalid_login": lazy(
            "This e-mail and password do not open an account. Check both; capital and small "
            "letters count in the password. Where you have forgotten it, ask for a new one."
        ),
        "inactive": "",
    }

    def __init__(self, request=None, *args, **kwargs):
        super().__init__(request, *args, **kwargs)
        self.fields["username"].label = lazy("E-mail")
        self.fields["username"].widget = forms.EmailInput(
            attrs={"autocomplete": "username", "autofocus": True, "maxlength": 254}
        )

    def clean_username(self):
        return Person.objects.normalise(self.cleaned_data["username"])

    def confirm_login_allowed(self, user):
        if not user.is_active or not memberships_of(user):
            raise self.get_invalid_login_error()


class ForgottenForm(forms.Form):
    email = forms.EmailField(
        label=lazy("E-mail"),
        max_length=254,
        widget=forms.EmailInput(attrs={"autocomplete": "username"}),
    )


class PartyChoiceForm(forms.Form):
    """One of the person's own memberships."""

    membership = forms.TypedChoiceField(coerce=int)

    def __init__(self, *args, memberships=(), **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["membership"].choices = [(row.pk, row.party.name) for row in memberships]


class ProfileForm(TypingForm):
    name = NoteField(label=lazy("Name"), max_length=120)
    licence_number = NoteField(
        label=lazy("Licence number"),
        max_length=60,
        required=False,
        help_text=lazy("Printed beside your signature."),
    )
    away_until = DayField(
        label=lazy("Away until"),
        required=False,
        help_text=lazy("The first day back; your coordinator sees it beside your cases."),
    )


class PasswordForm(forms.Form):
    """The present password and a new one, typed twice."""

    old = OwnPasswordField(label=lazy("Present password"))
    new = forms.CharField(
        label=lazy("New password"),
        strip=False,
        max_length=OwnPasswordField.LONGEST,
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
        help_text=lazy("At least eight characters; a few words in a row are easy to keep."),
    )
    again = forms.CharField(
        label=lazy("New password once more"),
        strip=False,
        max_length=OwnPasswordField.LONGEST,
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
    )

    def __init__(self, *args, person, **kwargs):
        super().__init__(*args, **kwargs)
        self.person = person

    def clean_new(self):
        validate_password(self.cleaned_data["new"], self.person)
        return self.cleaned_data["new"]

    def clean(self):
        given = super().clean()
        if given.get("new") and given.get("again") and given["new"] != given["again"]:
            self.add_error("again", _("This is not what was typed above. Type both again."))
        return given


def role_choices(kind):
    """The roles there are at a kind of party."""
    return [(str(role), LABELS[role]) for role in Role if role in ROLES_AT[PartyKind(kind)]]


class RolesForm(forms.Form):
    roles = forms.MultipleChoiceField(label=lazy("Roles"), widget=forms.CheckboxSelectMultiple)

    def __init__(self, *args, kind, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["roles"].choices = role_choices(kind)


class InviteForm(RolesForm):
    """Somebody who is to become a member."""

    email = forms.EmailField(label=lazy("E-mail"), max_length=254)
    name = NoteField(label=lazy("Name"), max_length=120)
    licence_number = NoteField(label=lazy("Licence number"), max_length=60, required=False)
    field_order = ["email", "name", "licence_number", "roles"]


class PartyForm(TypingForm):
    """A party's particulars. What only a practice decides is left out for others."""

    name = NoteField(label=lazy("Name"), max_length=120)
    address = NoteField(label=lazy("Address"), lines=4, max_length=600, required=False)
    country = forms.CharField(
        label=lazy("Country"),
        max_length=2,
        required=False,
        help_text=lazy("Two letters as in ISO 3166-1, for the public holidays; empty: none."),
    )
    region = forms.CharField(
        label=lazy("Region"),
        max_length=10,
        required=False,
        help_text=lazy("The code of the state or province, where its holidays differ."),
    )
    time_zone = forms.ChoiceField(label=lazy("Time zone"))
    notation = forms.ChoiceField(
        label=lazy("Tooth numbers are typed and shown in"), choices=list(teeth.LABELS.items())
    )
    date_order = forms.ChoiceField(
        label=lazy("Days may be typed as"),
        choices=list(ORDERS.items()),
        help_text=lazy("year-month-day is always understood."),
    )
    shows_patient_name = forms.BooleanField(
        label=lazy("Show patients' names to the laboratories and placing practices"),
        required=False,
        help_text=lazy(
            "Without it they see a code, an age band and the sex. Scan centres and milling "
            "centres never see a name. Show no more than the work needs."
        ),
    )
    retention_years = forms.IntegerField(
        label=lazy("Records are kept for (years)"),
        min_value=1,
        max_value=99,
        help_text=lazy(
            "Counted from the last entry; before that nothing is erased. Local law decides how "
            "long: ask whoever advises you."
        ),
    )

    def __init__(self, *args, kind, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["time_zone"].choices = [(zone, zone) for zone in _zones()]
        if kind != PartyKind.PRACTICE:
            del self.fields["shows_patient_name"], self.fields["retention_years"]

    def clean_country(self):
        code = self.cleaned_data["country"].strip().upper()
        if code and code not in _countries():
            raise ValidationError(
                _(
                    "No calendar is known for '{code}'. Type two letters, for example AT."
                ).format(code=code)
            )
        return code

    def clean(self):
        given = super().clean()
        country, region = given.get("country"), (given.get("region") or "").strip().upper()
        known = _countries().get(country, ()) if country else ()
        if region and region not in known:
            listed = ", ".join(known) or _("none; leave the field empty")
            self.add_error(
                "region",
                _("'{region}' is no region of {country} here. Known: {listed}.").format(
                    region=region, country=country or _("no country"), listed=listed
                ),
            )
        given["region"] = region
        return given


def _zones():
    return sorted(available_timezones() - {"localtime"})


def _countries():
    return holidays.list_supported_countries(include_aliases=False)


class JoinForm(forms.Form):
    join_code = forms.CharField(
        label=lazy("Join code of the other party"),
        max_length=20,
        help_text=lazy("Its administrator finds it on the page of the party."),
    )
