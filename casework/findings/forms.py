"""What is typed about a practice's own limits, and how is it read?"""

from django import forms
from django.utils.translation import gettext_lazy as _

from casework.findings.queries import limits_to_set
from orders.typing_fields import NoteField, NumberField, TypingForm


def typed_reasons(sent):
    """From each ask's key to the reason typed for it: its own, else the one of its group."""
    typed = {
        name.removeprefix("answer-"): text
        for name, text in sent.items()
        if name.startswith("answer-") and text.strip()
    }
    asked = {
        name.removeprefix("asked-"): sent.getlist(name)
        for name in sent
        if name.startswith("asked-")
    }
    for_all = {
        key: typed[group] for group, keys in asked.items() if group in typed for key in keys
    }
    own = {key: text for key, text in typed.items() if key not in asked}
    return for_all | own


class LimitForm(TypingForm):
    """One limit, the practice's own value for it, and where the value comes from."""

    name = forms.ChoiceField(label=_("Limit"))
    value = NumberField(
        label=_("Your value"),
        required=True,
        minimum=0,
        maximum=999999,
        places=3,
        help_text=_("in the unit of the limit"),
    )
    source = NoteField(
        label=_("Source"),
        max_length=200,
        help_text=_("Where the value comes from: instructions for use, a publication, a rule."),
    )

    def __init__(self, *args, **more):
        super().__init__(*args, **more)
        self.fields["name"].choices = [
            (row.name, f"{row.title} ({row.unit})") for row in limits_to_set()
        ]
