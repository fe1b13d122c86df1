"""What is typed about a shade, and about a guide?"""

from django import forms
from django.utils.translation import gettext_lazy as _

from orders.shades import rules
from orders.typing_fields import (
    CountField,
    DayField,
    NoteField,
    RevisedForm,
    TypingForm,
    YesNoField,
    as_choices,
)


class ShadeForm(RevisedForm):
    guide = forms.ModelChoiceField(label=_("Guide"), queryset=None)
    body = NoteField(label=_("Tab of the body"), max_length=20)
    cervical = NoteField(label=_("Tab near the gum"), max_length=20, required=False)
    incisal = NoteField(label=_("Tab at the edge"), max_length=20, required=False)
    gum_shade = NoteField(label=_("Gum shade"), max_length=40, required=False)
    light = forms.ChoiceField(
        label=_("Light"), choices=as_choices(rules.LIGHTS, blank=_("choose"))
    )
    light_k = CountField(
        label=_("Colour temperature of the light"), unit="K", maximum=99999, required=False
    )
    taken_before_drying = YesNoField(label=_("Taken before the teeth dried"))
    taken_on = DayField(label=_("Taken on"), not_in_future=True)
    whitening_ended_on = DayField(
        label=_("Whitening ended on"), required=False, not_in_future=True
    )
    note = NoteField(label=_("Note"), lines=3, required=False)

    def __init__(self, *args, guides, **more):
        super().__init__(*args, **more)
        self.fields["guide"].queryset = guides
        tabs = sorted({tab for guide in guides for tab in guide.tabs})
        for zone in rules.ZONES:
            self.fields[zone].help_text = _("one of: %s") % ", ".join(tabs)

    def clean(self):
        told = super().clean()
        if told.get("guide") and not self.errors:
            for field, sentence in rules.objections_to_shade(
                told, told["guide"].tabs, self.today
            ):
                self.add_error(field, sentence)
        return told


class GuideForm(TypingForm):
    name = NoteField(label=_("Name of the guide"), max_length=80)
    tabs = NoteField(
        label=_("Tabs"), lines=4, help_text=_("with commas between, in the guide's order")
    )

    def clean_tabs(self):
        return rules.read_tabs(self.cleaned_data["tabs"])
