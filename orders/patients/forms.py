"""What is typed when a patient is entered or corrected?"""

from django import forms
from django.utils.translation import gettext_lazy as _

from orders.patients import rules
from orders.typing_fields import DayField, NoteField, TypingForm, as_choices


class PatientForm(TypingForm):
    name = NoteField(
        label=_("Name"),
        max_length=200,
        help_text=_("seen inside your practice only, unless it chose to show it"),
    )
    birth_date = DayField(label=_("Birth date"), required=False, not_in_future=True)
    sex = forms.ChoiceField(
        label=_("Sex"), required=False, choices=as_choices(rules.SEXES, blank=_("choose"))
    )
    chart_number = NoteField(label=_("Chart number"), max_length=40, required=False)

    def clean_birth_date(self):
        day = self.cleaned_data["birth_date"]
        for sentence in rules.objections_to_birth_date(day, self.today):
            self.add_error("birth_date", sentence)
        return day


class SearchForm(forms.Form):
    q = NoteField(
        label=_("Find"),
        max_length=200,
        required=False,
        help_text=_("name, chart number or code"),
    )
