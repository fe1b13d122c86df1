"""What is typed about an implant, and about the teeth that exist?"""

from django import forms
from django.utils.translation import gettext_lazy as _

from orders.implants.rules import SOFT_TISSUE
from orders.teeth import along_arch, in_arch_order
from orders.typing_fields import (
    DayField,
    DeviceIdentifierField,
    IdentifierField,
    NoteField,
    NumberField,
    RevisedForm,
    TeethField,
    ToothField,
    TypingForm,
    as_choices,
)

TAKEN_OVER = (
    "system",
    "connection",
    "platform",
    "platform_diameter_mm",
    "body_diameter_mm",
    "length_mm",
)


class ImplantForm(RevisedForm):
    site = ToothField(label=_("Site"))
    component = forms.ModelChoiceField(
        label=_("Implant of the catalogue"),
        queryset=None,
        required=False,
        empty_label=_("not in the catalogue: type what is known"),
        help_text=_("what is left empty below is taken over from it"),
    )
    lot = IdentifierField(label=_("Lot"), required=False)
    identifier = DeviceIdentifierField(
        label=_("Device identifier"),
        longest=120,
        required=False,
        help_text=_("item number or whole UDI, as on the label"),
    )
    placed_on = DayField(label=_("Placed on"), required=False, not_in_future=True)
    placed_by = NoteField(
        label=_("Placed by"),
        max_length=120,
        required=False,
        help_text=_("the surgeon; the author of the report where it was placed elsewhere"),
    )
    soft_tissue = forms.ChoiceField(
        label=_("Soft tissue"),
        required=False,
        choices=as_choices(SOFT_TISSUE, blank=_("choose")),
    )
    healing_abutment_height_mm = NumberField(
        label=_("Height of the healing abutment"),
        unit="mm",
        minimum=0,
        maximum=20,
        places=1,
        required=False,
    )
    identified_how = NoteField(
        label=_("How it was identified"),
        lines=2,
        required=False,
        help_text=_("where neither lot nor identifier is known"),
    )
    system = NoteField(label=_("System"), max_length=80, required=False)
    connection = NoteField(label=_("Connection"), max_length=60, required=False)
    platform = NoteField(label=_("Platform"), max_length=60, required=False)
    platform_diameter_mm = NumberField(
        label=_("Platform diameter"), unit="mm", minimum=0, maximum=99, required=False
    )
    body_diameter_mm = NumberField(
        label=_("Body diameter"), unit="mm", minimum=0, maximum=99, required=False
    )
    length_mm = NumberField(label=_("Length"), unit="mm", minimum=0, maximum=99, required=False)

    def __init__(self, *args, components, **more):
        super().__init__(*args, **more)
        self.fields["component"].queryset = components

    def clean(self):
        """Another component brings its own figures; those typed for it stand."""
        told = super().clean()
        if told.get("component") and "component" in self.changed_data:
            for name in TAKEN_OVER:
                if name in told and name not in self.changed_data:
                    told[name] = self.fields[name].to_python("")
        return told


class ReasonForm(TypingForm):
    reason = NoteField(label=_("Why"), lines=2)


class TeethForm(RevisedForm):
    """Typed as ranges, the way that is shorter: those that are there, or those missing."""

    typed_as = forms.ChoiceField(
        label=_("These teeth"),
        choices=[("present", _("exist")), ("missing", _("are missing"))],
        widget=forms.RadioSelect,
    )
    teeth = TeethField(
        label=_("Teeth"), required=False, help_text=_("for example 17-27, 37-44;")
    )
    without_wisdom = forms.BooleanField(
        label=_("Third molars are missing"), required=False, initial=True
    )
    prepared = TeethField(
        label=_("Prepared for this work"), required=False, help_text=_("teeth that stand;")
    )
    checked_on = DayField(label=_("Looked at on"), not_in_future=True)

    def clean(self):
        told = super().clean()
        teeth = told.get("teeth") or ()
        if told.get("typed_as") == "missing":
            jaws = [*along_arch("upper"), *along_arch("lower")]
            teeth = [tooth for tooth in jaws if tooth not in teeth]
            if told.get("without_wisdom"):
                teeth = [tooth for tooth in teeth if tooth[1] != "8"]
        told["present"] = in_arch_order(teeth)
        strange = [tooth for tooth in told.get("prepared") or () if tooth not in teeth]
        if strange and not self.errors:
            self.add_error(
                "prepared",
                _("%(teeth)s (ISO 3950) is not among the teeth that exist.")
                % {"teeth": ", ".join(strange)},
            )
        return told
