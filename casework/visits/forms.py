"""What is typed about try-in, delivery and follow-up visits, and how is it read?"""

from zoneinfo import ZoneInfo

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from casework.visits import rules
from orders.typing_fields import (
    CountField,
    DayField,
    IdentifierField,
    NoteField,
    NumberField,
    RevisedForm,
    TypingForm,
    YesNoField,
    as_choices,
)

L = gettext_lazy


def _answer(label):
    return forms.ChoiceField(
        label=L(label), choices=as_choices(rules.ANSWERS, L("not said")), required=False
    )


class VisitForm(RevisedForm):
    """A record of a visit: its day, and who treated."""

    on = DayField(label=L("Day"), not_in_future=True, required=True)
    clinician = NoteField(
        label=L("By"), max_length=120, required=False, help_text=L("Empty: you.")
    )


class TryInForm(VisitForm):
    adjustments = NoteField(label=L("What was adjusted"), lines=3, required=False)
    needs_repolish = YesNoField(label=L("Does it need polishing again?"))
    note = NoteField(label=L("Note"), lines=3, required=False)

    def __init__(self, *args, **more):
        super().__init__(*args, **more)
        for name, words in rules.TRY_IN_QUESTIONS.items():
            self.fields[name] = _answer(words)
        last = ("adjustments", "needs_repolish", "note")
        self.order_fields(["on", "clinician", *rules.TRY_IN_QUESTIONS, *last])


class _TimeField(forms.TimeField):
    def __init__(self, **more):
        super().__init__(
            **{
                "required": False,
                "input_formats": ["%H:%M", "%H:%M:%S"],
                "widget": forms.TimeInput(attrs={"type": "time"}, format="%H:%M"),
                "help_text": L("hours:minutes, for example 14:05"),
                "error_messages": {"invalid": L("Type the time as hours:minutes.")},
            }
            | more
        )


class ScrewForm(RevisedForm):
    component = forms.ModelChoiceField(
        None, label=L("Screw"), required=False, help_text=L("Empty: the one that was sent.")
    )
    lot = IdentifierField(
        label=L("Lot"), required=False, help_text=L("Empty: the lot that was sent.")
    )
    was_new = forms.BooleanField(label=L("The screw was new"), required=False)
    tightened_on = DayField(label=L("Day"), not_in_future=True, required=False)
    torque_ncm = NumberField(label=L("First torque"), unit="N·cm", places=1, required=False)
    first_time = _TimeField(label=L("First tightened at"))
    second_torque_ncm = NumberField(
        label=L("Second torque"), unit="N·cm", places=1, required=False
    )
    second_time = _TimeField(label=L("Tightened again at, about ten minutes later"))
    channel_closed_with = NoteField(
        label=L("Channel closed with"),
        max_length=80,
        required=False,
        help_text=L("Empty: the channel is open."),
    )

    def __init__(self, *args, components, **more):
        super().__init__(*args, **more)
        self.fields["component"].queryset = components

    @staticmethod
    def initial_of(screw, zone):
        names = ("component", "lot", "was_new", "torque_ncm", "second_torque_ncm")
        found = {name: getattr(screw, name) for name in (*names, "channel_closed_with")}
        for field, at in (("first_time", screw.tightened_at), ("second_time", screw.second_at)):
            local = at.astimezone(ZoneInfo(zone)) if at else None
            found[field] = local.time() if local else None
        if screw.tightened_at:
            found["tightened_on"] = screw.tightened_at.astimezone(ZoneInfo(zone)).date()
        return found | {"seen_revision": screw.revision}

    def clean(self):
        said = super().clean()
        times = {"tightened_at": said.get("first_time"), "second_at": said.get("second_time")}
        day = said.get("tightened_on") or (self.today if any(times.values()) else None)
        for field, time in times.items():
            said[field] = self._moment(day, time)
        return said

    def _moment(self, day, time):
        if day is None or time is None:
            return None
        try:
            return rules.moment_at(day, time.hour, time.minute, self.party.time_zone)
        except rules.NoSuchTime as skipped:
            raise ValidationError(str(skipped)) from None

    def said(self):
        dropped = ("first_time", "second_time", "tightened_on")
        return {k: v for k, v in self.cleaned_data.items() if k not in dropped}


class DeliveryForm(VisitForm):
    cement = NoteField(
        label=L("Cement"), max_length=80, required=False, help_text=L("Empty: not cemented.")
    )
    excess_checked = YesNoField(label=L("Was excess cement looked for?"))
    excess_checked_how = NoteField(label=L("How"), max_length=120, required=False)
    bite_after = NoteField(label=L("Bite after delivery"), max_length=200, required=False)
    baseline_radiograph = forms.ModelChoiceField(
        None, label=L("Baseline bone level: radiograph"), required=False
    )
    baseline_reason = NoteField(label=L("or why none was justified"), lines=2, required=False)
    instructions_given = forms.BooleanField(
        label=L("The patient has the instructions"), required=False
    )
    implant_record_given = forms.BooleanField(
        label=L("The patient has the implant record"), required=False
    )
    note = NoteField(label=L("Note"), lines=3, required=False)

    def __init__(self, *args, radiographs, **more):
        super().__init__(*args, **more)
        chosen = self.fields["baseline_radiograph"]
        chosen.queryset = radiographs
        chosen.label_from_instance = lambda file: _("file {number}").format(number=file.number)


# What is read at a follow-up beside each implant: field ending, quantity, direction, words.
_NUMBERS = (
    ("probing_mesial", "probing_mm", "mesial", L("probing, mesial")),
    ("probing_distal", "probing_mm", "distal", L("probing, distal")),
    ("bone_mesial", "bone_level_mm", "mesial", L("bone level, mesial")),
    ("bone_distal", "bone_level_mm", "distal", L("bone level, distal")),
)
_YES_OR_NO = (("bleeding", L("bleeding on probing")), ("mobility", L("moves")))


class FollowUpForm(RevisedForm):
    done_on = DayField(label=L("Day"), not_in_future=True, required=True)
    clinician = NoteField(
        label=L("By"), max_length=120, required=False, help_text=L("Empty: you.")
    )
    outcome = forms.ChoiceField(
        label=L("What came of it"), choices=as_choices(rules.OUTCOMES, L("not said"))
    )
    note = NoteField(label=L("Note"), lines=3, required=False)

    def __init__(self, *args, sites, say_site, **more):
        super().__init__(*args, **more)
        self.sites = sites
        for name, words in rules.FOLLOW_UP_QUESTIONS.items():
            self.fields[name] = _answer(words)
        for site in sites:
            where = say_site(site)
            for ending, _quantity, _direction, words in _NUMBERS:
                self.fields[f"{ending}_{site}"] = NumberField(
                    label=f"{where}: {words}", unit="mm", places=1, required=False
                )
            for ending, words in _YES_OR_NO:
                self.fields[f"{ending}_{site}"] = YesNoField(label=f"{where}: {words}")

    def readings(self):
        """What was measured, as `record_readings` takes it."""
        said, found = self.cleaned_data, []
        for site in self.sites:
            for ending, quantity, direction, _words in _NUMBERS:
                if (value := said[f"{ending}_{site}"]) is not None:
                    found.append(
                        {
                            "site": site,
                            "quantity": quantity,
                            "direction": direction,
                            "value": value,
                        }
                    )
            for ending, _words in _YES_OR_NO:
                if (held := said[f"{ending}_{site}"]) is not None:
                    found.append({"site": site, "quantity": ending, "held": held})
        return found

    def said(self):
        names = ("outcome", "note", *rules.FOLLOW_UP_QUESTIONS)
        return {name: self.cleaned_data[name] for name in names}


class LinkForm(TypingForm):
    reason = NoteField(label=L("What happened, and at which site"), max_length=200, lines=2)


TEMPLATE_LINES = 8


class TemplateForm(TypingForm):
    """The steps of the follow-up visits; an empty line is no step."""

    def __init__(self, *args, **more):
        super().__init__(*args, **more)
        for line in range(1, TEMPLATE_LINES + 1):
            self.fields[f"amount_{line}"] = CountField(
                label=_("Visit {line}: after").format(line=line), required=False
            )
            self.fields[f"unit_{line}"] = forms.ChoiceField(
                label=_("counted in"), choices=as_choices(rules.UNITS), initial=rules.MONTHS
            )

    @staticmethod
    def initial_of(steps):
        return {
            f"{name}_{line}": value
            for line, step in enumerate(steps[:TEMPLATE_LINES], 1)
            for name, value in zip(("amount", "unit"), step, strict=True)
        }

    def steps(self):
        said = self.cleaned_data
        return [
            (said[f"amount_{line}"], said[f"unit_{line}"])
            for line in range(1, TEMPLATE_LINES + 1)
            if said[f"amount_{line}"] is not None
        ]
