"""What is typed about appointments and closing days, and how is it read?"""

from zoneinfo import ZoneInfo

from django import forms
from django.utils.translation import gettext_lazy as _

from casework.schedule import rules
from casework.visits.rules import NoSuchTime, moment_at
from orders.typing_fields import (
    CountField,
    DayField,
    NoteField,
    RevisedForm,
    TypingForm,
    as_choices,
)


class VisitForm(RevisedForm):
    """When the patient comes, and for how long."""

    kind = forms.ChoiceField(label=_("For"))
    day = DayField(label=_("Day"), required=True)
    time = forms.TimeField(
        label=_("Time"),
        input_formats=["%H:%M", "%H:%M:%S"],
        widget=forms.TimeInput(attrs={"type": "time"}, format="%H:%M"),
        help_text=_("hours:minutes, for example 14:05"),
        error_messages={"invalid": _("Type the time as hours:minutes.")},
    )
    minutes = CountField(label=_("Minutes"), required=True, help_text=_("how long it takes"))
    reason = NoteField(
        label=_("Reason"),
        max_length=200,
        required=False,
        help_text=_("Needed before the parts can be there, and on a day you are closed."),
    )

    def __init__(self, *args, kinds=None, **more):
        super().__init__(*args, **more)
        if kinds is None:
            del self.fields["kind"]
            return
        self.fields["kind"].choices = as_choices(kinds)
        least = ", ".join(f"{kind}: {rules.minutes_needed(kind)}" for kind in kinds)
        self.fields["minutes"].help_text = _("at least, by kind of visit: %s") % least

    def clean(self):
        said = super().clean()
        day, time = said.get("day"), said.get("time")
        if day and time:
            try:
                said["starts_at"] = moment_at(day, time.hour, time.minute, self.party.time_zone)
            except NoSuchTime as skipped:
                self.add_error("time", str(skipped))
        return said

    def said(self):
        names = ("kind", "starts_at", "minutes", "reason")
        return {name: self.cleaned_data[name] for name in names if name in self.cleaned_data}

    @staticmethod
    def initial_of(visit, zone):
        local = visit.at.astimezone(ZoneInfo(zone))
        return {
            "day": local.date(),
            "time": local.time(),
            "minutes": visit.minutes,
            "reason": visit.reason,
            "seen_revision": visit.revision,
        }


class ArrivalForm(TypingForm):
    expected_on = DayField(label=_("Expected on"), required=True)


class ClosingDaysForm(TypingForm):
    first = DayField(label=_("First day"), required=True)
    last = DayField(
        label=_("Last day"), required=False, help_text=_("Empty: the first day alone.")
    )
    why = NoteField(label=_("Why"), max_length=80, required=False)
