"""What is typed about a design version, and how is it read?"""

from django import forms
from django.utils.translation import gettext_lazy as _

from casework.designs import rules
from orders.typing_fields import NoteField, PlaceField, TeethField, TypingForm, as_choices


class _Row(forms.ModelChoiceField):
    """One row of a queryset, named by `say`."""

    def __init__(self, *, say=str, **more):
        self._say = say
        super().__init__(queryset=None, **more)

    def label_from_instance(self, row):
        return self._say(row)


class MadePartForm(TypingForm):
    kind = forms.ChoiceField(label=_("Part"), choices=as_choices(rules.MADE))
    sites = TeethField(label=_("Teeth"), required=True)
    evidence = _Row(
        label=_("Mesh"),
        say=lambda file: f"{file.number}: {', '.join(file.sites)} ({file.format})",
        help_text=_("A file uploaded as a part of the design, in the frame of the scan."),
    )
    material = _Row(label=_("Material"), required=False)

    def __init__(self, *args, files, materials, **more):
        super().__init__(*args, **more)
        self.fields["evidence"].queryset = files
        self.fields["material"].queryset = materials


class StockPartForm(TypingForm):
    kind = forms.ChoiceField(label=_("Part"), choices=as_choices(rules.STOCK))
    sites = TeethField(
        label=_("Implant site"), required=True, help_text=_("One: each site has its own.")
    )
    component = _Row(label=_("Part number"), say=lambda row: f"{row} ({row.kind})")

    def __init__(self, *args, components, **more):
        super().__init__(*args, **more)
        self.fields["component"].queryset = components


class NotesForm(TypingForm):
    notes = NoteField(
        label=_("Notes and questions for the dentist"),
        lines=8,
        required=False,
        help_text=_("What is not in the files, and what you want looked at."),
    )
    seen = forms.CharField(widget=forms.HiddenInput, required=False)


class DiscardForm(TypingForm):
    reason = NoteField(label=_("Why this version is discarded"), lines=2)


class MarkForm(TypingForm):
    part = _Row(label=_("About"), required=False, empty_label=_("the version as a whole"))
    text = NoteField(label=_("What should be changed"), lines=3)
    place = PlaceField()
    facing = PlaceField()

    def __init__(self, *args, parts, **more):
        super().__init__(*args, **more)
        self.fields["part"].queryset = parts
