"""What does somebody type about a file: what it is, its day, its unit?"""

from django import forms
from django.utils.translation import gettext_lazy as _

from casework.evidence.rules import JAWS, ROLES, UNIT_FACTORS, objections_to_role
from orders.typing_fields import DayField, TeethField, TypingForm

JAW_CHOICES = [("", _("not said")), *JAWS.items()]


class FileForm(TypingForm):
    """What a file is; checked as a whole by evidence.rules."""

    role = forms.ChoiceField(label=_("What it is"))
    jaw = forms.ChoiceField(label=_("Jaw"), choices=JAW_CHOICES, required=False)
    sites = TeethField(label=_("Sites"), required=False)
    taken_on = DayField(
        label=_("Taken on"),
        required=False,
        not_in_future=True,
        help_text=_("the day of the scan, radiograph or photograph,"),
    )

    def __init__(self, *args, file_format, **more):
        super().__init__(*args, **more)
        self.file_format = file_format
        self.fields["role"].choices = [
            ("", _("choose")),
            *(
                (role.slug, role.label)
                for role in ROLES.values()
                if not file_format or file_format in role.formats
            ),
        ]

    def clean(self):
        says = super().clean()
        if says.get("role") and not self.errors and self.file_format:
            for sentence in objections_to_role(
                says["role"], self.file_format, says["jaw"], says["sites"]
            ):
                field = sentence.split(":", 1)[0].lower()
                self.add_error(field if field in {"jaw", "sites"} else "role", sentence)
        return says


class SlotForm(FileForm):
    """What all files of an upload are, where the person wants to say it at once."""

    def __init__(self, *args, **more):
        super().__init__(*args, file_format="", **more)
        role = self.fields["role"]
        role.required = False
        role.choices = [("", _("propose it for each file")), *role.choices[1:]]


class ProposalsForm(TypingForm):
    """What is said of all proposals that are right, in one go."""

    taken_on = DayField(
        label=_("Those that do not say their day were taken on"),
        required=False,
        not_in_future=True,
    )


class UnitForm(forms.Form):
    """In which unit a surface counts."""

    unit = forms.ChoiceField(
        label=_("One unit of the file is one"),
        choices=[(unit, unit) for unit in UNIT_FACTORS],
        widget=forms.RadioSelect,
    )
