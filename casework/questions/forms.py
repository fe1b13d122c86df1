"""What is typed when asking or answering?"""

from django import forms
from django.utils.translation import gettext_lazy as _

from casework.questions import rules
from orders.typing_fields import NoteField, TypingForm, as_choices


class AskForm(TypingForm):
    to_side = forms.ChoiceField(label=_("To"))
    about = forms.ChoiceField(label=_("About"), required=False)
    text = NoteField(label=_("Question"), lines=4, max_length=rules.LONGEST)

    def __init__(self, *args, sides, subjects, **more):
        super().__init__(*args, **more)
        self.fields["to_side"].choices = as_choices([str(side) for side in sides])
        self.fields["about"].choices = subjects


class AnswerForm(TypingForm):
    how = forms.ChoiceField(
        label=_("How it was answered"),
        choices=as_choices(rules.HOW),
        help_text=_("A call that is noted answers; it never approves a design."),
    )
    text = NoteField(label=_("Answer"), lines=4, max_length=rules.LONGEST)

    def __init__(self, *args, may_write, **more):
        super().__init__(*args, **more)
        if not may_write:
            self.fields["how"].choices = as_choices([rules.CALL])
