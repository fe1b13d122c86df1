"""What is typed when a party adds a row of its own to the catalogue?"""

from django import forms
from django.utils.translation import gettext_lazy as _

from orders.catalogue import parts
from orders.catalogue.rules import FAMILY_LABELS
from orders.typing_fields import (
    CountField,
    DayField,
    IdentifierField,
    NoteField,
    NumberField,
    TypingForm,
    YesNoField,
    as_choices,
)


class SystemForm(TypingForm):
    name = NoteField(label=_("Name of the system"), max_length=80)


class ComponentForm(TypingForm):
    kind = forms.ChoiceField(label=_("Kind"), choices=as_choices(parts.KINDS))
    part_number = IdentifierField(label=_("Part number"), longest=60)
    name = NoteField(label=_("Name"), max_length=120)
    system = forms.ModelChoiceField(label=_("System"), queryset=None, required=False)
    connection = NoteField(label=_("Connection"), max_length=60, required=False)
    platform = NoteField(label=_("Platform"), max_length=60, required=False)
    source = forms.ChoiceField(
        label=_("Where the figures come from"), choices=as_choices(parts.SOURCES)
    )
    measured_on = DayField(
        label=_("Measured on"),
        required=False,
        not_in_future=True,
        help_text=_("where your party measured it with a calliper;"),
    )
    torque_ncm = NumberField(
        label=_("Tightening torque"),
        unit="N·cm",
        minimum=0,
        maximum=100,
        places=1,
        required=False,
    )
    driver = forms.ModelChoiceField(label=_("Driver"), queryset=None, required=False)
    is_engaging = YesNoField(label=_("Engages the connection"))
    uses_max = CountField(label=_("May be used this often"), required=False)
    material = NoteField(label=_("Material"), max_length=60, required=False)

    def __init__(self, *args, systems, drivers, **more):
        super().__init__(*args, **more)
        self.fields["system"].queryset = systems
        self.fields["driver"].queryset = drivers
        for name in parts.ALL_DIMENSIONS:
            kinds = [kind for kind in parts.KINDS if name in parts.dimensions_of(kind)]
            self.fields[name] = NumberField(
                label=parts.dimension_words(name).capitalize(),
                minimum=0,
                maximum=99,
                places=3,
                required=False,
                help_text=_("in mm; %s") % ", ".join(kinds),
            )

    def clean(self):
        told = super().clean()
        told["dimensions"] = {
            name: told.pop(name) for name in parts.ALL_DIMENSIONS if told.get(name) is not None
        }
        if not self.errors:
            for field, sentence in parts.objections_to_component(
                told["kind"],
                connection=told["connection"],
                dimensions=told["dimensions"],
                source=told["source"],
                measured_on=told["measured_on"],
            ):
                self.add_error(field, sentence)
        return told

    def row(self):
        """What was typed, as `save_component` takes it."""
        told = dict(self.cleaned_data)
        for name in parts.ALL_DIMENSIONS:
            told.pop(name, None)
        return told


class MaterialForm(TypingForm):
    name = NoteField(label=_("Name"), max_length=120)
    family = forms.ChoiceField(
        label=_("Family"), choices=[(str(key), text) for key, text in FAMILY_LABELS.items()]
    )
    strength_class = CountField(
        label=_("Strength class"),
        required=False,
        maximum=5,
        help_text=_("1 to 5 of ISO 6872 for ceramics, type 0 to 5 of ISO 22674 for metals"),
    )
    flexural_strength_mpa = CountField(label=_("Flexural strength"), unit="MPa", required=False)
    composition = NoteField(label=_("Composition"), max_length=200, required=False)
    source = NoteField(
        label=_("Where the figures come from"),
        max_length=120,
        help_text=_("instructions for use, certificate"),
    )
    occlusal_min_mm = NumberField(
        label=_("Least thickness, occlusal"), unit="mm", minimum=0, maximum=9, required=False
    )
    axial_min_mm = NumberField(
        label=_("Least thickness, axial"), unit="mm", minimum=0, maximum=9, required=False
    )
    margin_min_mm = NumberField(
        label=_("Least thickness, margin"), unit="mm", minimum=0, maximum=9, required=False
    )
    connector_min_mm2 = NumberField(
        label=_("Least connector area"), unit="mm²", minimum=0, maximum=99, required=False
    )

    LIMITS = ("occlusal_min_mm", "axial_min_mm", "margin_min_mm", "connector_min_mm2")

    def row(self):
        """What was typed, as `save_material` takes it."""
        told = dict(self.cleaned_data)
        told["limits"] = {name: told.pop(name) for name in self.LIMITS}
        return told
