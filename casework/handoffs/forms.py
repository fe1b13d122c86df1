"""What is typed when a case is moved, accepted or returned?"""

from django import forms
from django.utils.translation import gettext_lazy as _

from casework.handoffs.rules import NEEDS
from orders.typing_fields import DayField, NoteField, OwnPasswordField, TypingForm

RETURN_LINES = 4


class MoveForm(forms.Form):
    """The last step of a move: its reason, and the password where it is signed."""

    reason = NoteField(label=_("Reason"), lines=3)
    password = OwnPasswordField()
    token = forms.CharField(widget=forms.HiddenInput)
    source = forms.CharField(widget=forms.HiddenInput)
    seen = forms.CharField(widget=forms.HiddenInput, required=False)

    def __init__(self, *args, move, **kwargs):
        super().__init__(*args, **kwargs)
        if not move.reason:
            del self.fields["reason"]
        if not move.signed:
            del self.fields["password"]


class AcceptForm(TypingForm):
    """Accepting, with a promise date for an order and conditions where something may follow."""

    promised_on = DayField(label=_("Promised to leave your house on"))
    condition = NoteField(
        label=_("Accepted on condition that"),
        required=False,
        lines=2,
        help_text=_("Leave empty to accept as it is."),
    )
    before_move = forms.ChoiceField(
        label=_("to be met before"),
        choices=[
            ("submit_design", _("the design is submitted")),
            ("send_to_milling", _("milling")),
            ("dispatch_for_try_in", _("dispatch")),
        ],
        initial="send_to_milling",
    )

    def __init__(self, *args, move, **kwargs):
        super().__init__(*args, **kwargs)
        if move.name != "send_order":
            for name in ("promised_on", "condition", "before_move"):
                del self.fields[name]

    def conditions(self):
        text = self.cleaned_data.get("condition", "").strip()
        return [(text, self.cleaned_data["before_move"])] if text else []


class ReturnForm(forms.Form):
    """Reasons for returning, each with what it needs."""

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        for line in range(1, RETURN_LINES + 1):
            self.fields[f"reason_{line}"] = NoteField(
                label=_("Reason {line}").format(line=line), required=line == 1, lines=2
            )
            self.fields[f"needs_{line}"] = forms.ChoiceField(
                label=_("needs"), choices=[(need, _(need)) for need in NEEDS]
            )

    def reasons(self):
        data = self.cleaned_data
        return [
            (data[f"reason_{line}"], data[f"needs_{line}"], "")
            for line in range(1, RETURN_LINES + 1)
            if data[f"reason_{line}"].strip()
        ]


class ReasonForm(forms.Form):
    """One text that goes with an act."""

    text = NoteField(label=_("Reason"), lines=3)

    def __init__(self, *args, label=None, signed=False, **kwargs):
        super().__init__(*args, **kwargs)
        if label:
            self.fields["text"].label = label
        if signed:
            self.fields["password"] = OwnPasswordField()
