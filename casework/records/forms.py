"""What is typed about the parties of a case, and when a case is opened?"""

from django import forms
from django.utils.translation import gettext_lazy as _


class PartyForm(forms.Form):
    """One list per side; what is left as it is changes nothing."""

    def __init__(self, *args, partners, **more):
        super().__init__(*args, **more)
        self._partners = {}
        for side, words, party in partners:
            name = side.replace(" ", "_")
            if name not in self.fields:
                self._partners[name] = (side, {})
                self.fields[name] = forms.ChoiceField(
                    label=words, required=False, choices=[("", _("leave as it is"))]
                )
            self._partners[name][1][str(party.pk)] = party
            self.fields[name].choices += [(str(party.pk), party.name)]

    def chosen(self):
        """Side and party, for each side on which one was chosen."""
        for name, (side, parties) in self._partners.items():
            if key := self.cleaned_data.get(name):
                yield side, parties[key]


class OpenCaseForm(forms.Form):
    laboratory = forms.ModelChoiceField(
        label=_("Laboratory"),
        queryset=None,
        required=False,
        empty_label=_("choose later"),
    )

    def __init__(self, *args, laboratories, **more):
        super().__init__(*args, **more)
        self.fields["laboratory"].queryset = laboratories
