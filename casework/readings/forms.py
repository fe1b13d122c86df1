"""What is typed about readings, scan bodies and the bite?"""

from django import forms
from django.utils.translation import gettext_lazy as _

from casework.readings import rules
from orders.teeth import Notation, write_tooth
from orders.typing_fields import (
    CountField,
    DayField,
    IdentifierField,
    NoteField,
    NumberField,
    PlaceField,
    RevisedForm,
    RowForm,
    ToothField,
    TypingForm,
    YesNoField,
    as_choices,
)

_QUANTITIES = [
    (slug, f"{kind.label} {kind.unit}".strip()) for slug, kind in rules.QUANTITIES.items()
]


class ReadingRowForm(RowForm):
    """One row of several; a row without a value says nothing."""

    site = ToothField(label=_("Site"), required=False)
    quantity = forms.ChoiceField(label=_("Reading"), required=False, choices=_QUANTITIES)
    value = NumberField(label=_("Value"), required=False)
    direction = forms.ChoiceField(
        label=_("Direction"), required=False, choices=as_choices(rules.DIRECTIONS, blank="-")
    )
    held = YesNoField(label=_("Yes or no"), required=False)
    note = NoteField(label=_("Note"), max_length=200, required=False)

    @property
    def says_something(self):
        told = self.cleaned_data
        return told.get("value") is not None or told.get("held") is not None

    def clean(self):
        told = super().clean()
        if not self.errors and self.says_something and not told.get("site"):
            self.add_error("site", _("Name the site."))
        return told


class UsualReadingForm(ReadingRowForm):
    """A row proposed for a site: only what was read is typed."""

    def __init__(self, *args, **more):
        super().__init__(*args, **more)
        for name in ("site", "quantity", "direction", "note"):
            self.fields[name].widget = forms.HiddenInput()
        self.kind = rules.QUANTITIES.get(str(self["quantity"].value()))
        if self.kind is None or not self.kind.asks:
            self.fields["held"].widget = forms.HiddenInput()
        else:
            self.fields["held"].label = self.kind.asks


class ReadingDayForm(TypingForm):
    measured_on = DayField(label=_("Read on"), not_in_future=True)
    measured_by = NoteField(label=_("Read by"), max_length=120)


class ReadingForm(RevisedForm, ReadingDayForm):
    """One reading, corrected."""

    site = ToothField(label=_("Site"))
    quantity = forms.ChoiceField(label=_("Reading"), choices=_QUANTITIES)
    value = NumberField(label=_("Value"), required=False)
    direction = forms.ChoiceField(
        label=_("Direction"), required=False, choices=as_choices(rules.DIRECTIONS, blank="-")
    )
    held = YesNoField(label=_("Yes or no"))
    note = NoteField(label=_("Note"), lines=3, required=False)


class ScanBodyForm(RevisedForm):
    site = ToothField(label=_("Site"))
    component = forms.ModelChoiceField(label=_("Scan body"), queryset=None)
    lot = IdentifierField(label=_("Lot"), required=False)
    use_count = CountField(
        label=_("Number of uses"),
        minimum=1,
        required=False,
        help_text=_("this one counted"),
    )
    tightened_how = forms.ChoiceField(
        label=_("Tightened with"),
        required=False,
        choices=as_choices(rules.TIGHTENED_HOW, blank=_("choose")),
    )
    torque_ncm = NumberField(
        label=_("Torque"), unit="N·cm", minimum=0, maximum=100, places=1, required=False
    )
    placed_on = DayField(label=_("Placed on"), not_in_future=True)
    radiograph = forms.ModelChoiceField(
        label=_("Seating shown by radiograph"),
        queryset=None,
        required=False,
        empty_label=_("none"),
    )
    seating_reason = NoteField(
        label=_("Or seen by a clinician"),
        lines=2,
        required=False,
        help_text=_("how, and why no exposure was justified"),
    )
    seating_by = NoteField(label=_("Clinician"), max_length=120, required=False)

    def __init__(self, *args, components, radiographs, **more):
        super().__init__(*args, **more)
        self.fields["component"].queryset = components
        self.fields["component"].label_from_instance = _named_with_torque
        self.fields["radiograph"].queryset = radiographs
        self.fields["radiograph"].label_from_instance = _dated

    def clean(self):
        told = super().clean()
        if not self.errors:
            for sentence in rules.objections_to_seating(
                has_radiograph=told["radiograph"] is not None,
                reason=told["seating_reason"],
                by=told["seating_by"],
            ):
                self.add_error("seating_reason", sentence)
        return told


def _named_with_torque(component):
    torque = component.torque_ncm
    return f"{component} ({torque.normalize():f} N·cm)" if torque else str(component)


def _dated(evidence):
    day = evidence.taken_on.isoformat() if evidence.taken_on else _("no day given")
    return _("file %(number)s, %(day)s") % {"number": evidence.number, "day": day}


class PointForm(TypingForm):
    """Where a scan body stands: its site, and what was pressed on the surface of a scan."""

    site = forms.ChoiceField(label=_("Scan body at"))
    place = PlaceField()
    file = forms.IntegerField(widget=forms.HiddenInput, required=False, min_value=0)
    do = forms.ChoiceField(choices=(("point", ""), ("take back", "")), widget=forms.HiddenInput)

    def __init__(self, *args, sites, party, **more):
        super().__init__(*args, party=party, **more)
        notation = Notation(party.notation)
        self.fields["site"].choices = [(site, write_tooth(site, notation)) for site in sites]


class BiteForm(RevisedForm):
    position = forms.ChoiceField(
        label=_("Position of the jaws"), choices=as_choices(rules.BITE_POSITIONS)
    )
    seated = NoteField(
        label=_("What was seated"),
        max_length=120,
        help_text=_("for example healing abutments, the provisional, nothing"),
    )
    support_behind = YesNoField(label=_("Teeth support the bite behind the gap"))
    jaws_aligned = forms.BooleanField(
        label=_("The jaws came aligned from the scan itself, without a bite scan"),
        required=False,
    )
    foil_held_at = NoteField(
        label=_("Pairs that held the foil"), max_length=120, required=False
    )
    taken_on = DayField(label=_("Taken on"), not_in_future=True)
    note = NoteField(label=_("Note"), lines=3, required=False)
