"""What is typed about a case as a whole?"""

from django import forms
from django.utils.translation import gettext_lazy as _

from orders.typing_fields import DayField, NoteField, TypingForm


class HoldForm(TypingForm):
    reason = NoteField(label=_("Why the case waits"), lines=3)
    look_again_on = DayField(label=_("Look again on"))


class MemberForm(forms.Form):
    """Chooses one member of the party, by id."""

    member = forms.ChoiceField(label=_("Member"))

    def __init__(self, *args, members, may_be_nobody=False, **kwargs):
        super().__init__(*args, **kwargs)
        self._members = {str(member.pk): member for member in members}
        nobody = [("", _("nobody"))] if may_be_nobody else []
        self.fields["member"].required = not may_be_nobody
        self.fields["member"].choices = nobody + [
            (key, member.person.name) for key, member in self._members.items()
        ]

    def chosen(self):
        return self._members.get(self.cleaned_data["member"])
