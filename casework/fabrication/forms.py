"""What is typed about parts, lots and parcels, and how is it read?"""

from django import forms
from django.utils.translation import gettext_lazy as _

from casework.fabrication import rules
from orders.typing_fields import (
    DayField,
    IdentifierField,
    NoteField,
    NumberField,
    RevisedForm,
    TypingForm,
    as_choices,
)

MADE_FIELDS = ("material_lot", "milling_record", "furnace_record", "made_by", "made_on")
STOCK_FIELDS = ("component", "lot", "is_sealed")


class PartForm(RevisedForm):
    """What is recorded of a part; a made one and a bought one have different fields."""

    component = forms.ModelChoiceField(None, label=_("Part number"), required=False)
    lot = IdentifierField(label=_("Lot"), required=False)
    is_sealed = forms.BooleanField(label=_("In its sealed bag"), required=False)
    material_lot = forms.ModelChoiceField(
        None,
        label=_("Material lot"),
        required=False,
        help_text=_("Lots are entered once on the page of material lots."),
    )
    milling_record = NoteField(label=_("Milling record"), max_length=200, required=False)
    furnace_record = NoteField(label=_("Furnace record"), max_length=200, required=False)
    made_by = forms.ModelChoiceField(None, label=_("Made by"), required=False)
    made_on = DayField(label=_("Made on"), not_in_future=True, required=False)
    cost = NumberField(
        label=_("Cost so far"),
        minimum=0,
        maximum=9_999_999,
        required=False,
        help_text=_("In your currency; for the record, not an invoice."),
    )

    def __init__(self, *args, part, lots, components, makers, **more):
        super().__init__(*args, **more)
        self.fields["material_lot"].queryset = lots
        self.fields["component"].queryset = components
        self.fields["made_by"].queryset = makers
        self.fields["made_by"].label_from_instance = lambda member: member.person.name
        for name in STOCK_FIELDS if part.kind in rules.MADE else MADE_FIELDS:
            del self.fields[name]

    @staticmethod
    def initial_of(part):
        names = (*MADE_FIELDS, *STOCK_FIELDS, "cost")
        return {name: getattr(part, name) for name in names} | {"seen_revision": part.revision}


class LotForm(TypingForm):
    material = forms.ModelChoiceField(None, label=_("Material"))
    lot = IdentifierField(label=_("Lot, as printed"), required=True)
    form = forms.ChoiceField(
        label=_("Form"), choices=as_choices(rules.LOT_FORMS, "–"), required=False
    )
    certificate = NoteField(label=_("Certificate"), max_length=120, required=False)
    received_on = DayField(label=_("Received on"), not_in_future=True, required=False)

    def __init__(self, *args, materials, **more):
        super().__init__(*args, **more)
        self.fields["material"].queryset = materials


class InspectionForm(RevisedForm):
    is_fit = forms.TypedChoiceField(
        label=_("The part is"),
        choices=[("yes", _("fit to be dispatched")), ("no", _("not fit: it is made anew"))],
        coerce=lambda text: text == "yes",
    )
    note = NoteField(label=_("What was found"), lines=3, required=False)


class ReasonForm(TypingForm):
    reason = NoteField(label=_("Reason"), lines=3)


class LostForm(TypingForm):
    note = NoteField(label=_("What is known"), lines=3)


class EnclosureForm(TypingForm):
    kind = forms.ChoiceField(label=_("What is enclosed"), choices=as_choices(rules.ENCLOSURES))
    component = forms.ModelChoiceField(None, label=_("Driver"), required=False)
    lot = IdentifierField(label=_("Lot"), required=False)

    def __init__(self, *args, drivers, **more):
        super().__init__(*args, **more)
        self.fields["component"].queryset = drivers


class _Parts(forms.ModelMultipleChoiceField):
    widget = forms.CheckboxSelectMultiple

    def label_from_instance(self, part):
        place = "" if part.place in rules.PLACE_OF.values() else f", {part.place}"
        return f"{rules.name_of(part.kind, part.sites)}{place}"


class ChoosePartsForm(TypingForm):
    parts = _Parts(None, label=_("Parts"))

    def __init__(self, *args, parts, **more):
        super().__init__(*args, **more)
        self.fields["parts"].queryset = parts


class ParcelForm(RevisedForm, ChoosePartsForm):
    courier = NoteField(label=_("Courier"), max_length=80)
    tracking = IdentifierField(label=_("Tracking number"), longest=80, required=False)
    expected_on = DayField(label=_("Expected there on"), required=True)
    disinfected = forms.BooleanField(
        label=_("Everything in it is cleaned and disinfected, and the label says so"),
        required=False,
    )
    has_statement = forms.BooleanField(
        label=_("The statement for a custom-made device is enclosed"), required=False
    )
    note = NoteField(label=_("Note"), lines=2, required=False)


class CountForm(RevisedForm):
    """Every part of the list: there and sound, there and damaged, or not there."""

    CHOICES = (
        ("sound", _("there and sound")),
        ("damaged", _("there, but damaged")),
        ("missing", _("not there")),
    )
    note = NoteField(label=_("Note"), lines=2, required=False)

    def __init__(self, *args, lines, **more):
        super().__init__(*args, **more)
        self.lines = list(lines)
        for line in self.lines:
            self.fields[f"part_{line.part_id}"] = forms.ChoiceField(
                label=rules.name_of(line.part.kind, line.part.sites),
                choices=self.CHOICES,
                widget=forms.RadioSelect,
            )
        self.order_fields([name for name in self.fields if name != "note"])

    def counted(self):
        said = self.cleaned_data
        found = [(line.part, said[f"part_{line.part_id}"]) for line in self.lines]
        return [(part, word != "missing", word == "sound") for part, word in found]
