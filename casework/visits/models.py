"""What was found and decided at try-in, delivery and recall?"""

from django.db import models

from orders.records import Revised
from orders.typed import Code, Name, Text


class TryIn(Revised):
    """One numbered try-in. Answers are "yes", "no", "not applicable" or empty."""

    case = models.ForeignKey("casework.Case", models.PROTECT, related_name="try_ins")
    number = models.PositiveSmallIntegerField()
    on = models.DateField()
    by = models.CharField(max_length=120)
    seated = models.CharField(max_length=14, blank=True)
    # Splinted work: passive with one screw tightened.
    one_screw_test = models.CharField(max_length=14, blank=True)
    screw_and_driver_clear = models.CharField(max_length=14, blank=True)
    # Blanching faded within minutes.
    blanching_fades = models.CharField(max_length=14, blank=True)
    contacts = models.CharField(max_length=14, blank=True)
    bite = models.CharField(max_length=14, blank=True)
    excursions = models.CharField(max_length=14, blank=True)
    look = models.CharField(max_length=14, blank=True)
    patient_agrees = models.CharField(max_length=14, blank=True)
    adjustments = models.TextField(blank=True)
    needs_repolish = models.BooleanField(null=True, blank=True)
    note = models.TextField(blank=True)

    QUESTIONS = (
        "seated",
        "one_screw_test",
        "screw_and_driver_clear",
        "blanching_fades",
        "contacts",
        "bite",
        "excursions",
        "look",
        "patient_agrees",
    )
    FACTS = ("number", "on", "by", *QUESTIONS, "adjustments", "needs_repolish", "note")
    TYPED = {
        "by": Name("By"),
        "adjustments": Text("What was adjusted"),
        "note": Text("Note"),
    }
    PERSONAL = ()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["case", "number"], name="one_number_per_try_in")
        ]

    def __str__(self):
        return f"try-in {self.number} of case {self.case_id}"


class ScrewRecord(Revised):
    """One screw left in the mouth: part, lot and both torques."""

    case = models.ForeignKey("casework.Case", models.PROTECT, related_name="screws")
    site = models.CharField(max_length=2)
    component = models.ForeignKey("orders.Component", models.PROTECT, related_name="+")
    lot = models.CharField(max_length=40)
    was_new = models.BooleanField(default=True)
    torque_ncm = models.DecimalField(max_digits=4, decimal_places=1, null=True, blank=True)
    tightened_at = models.DateTimeField(null=True, blank=True)
    second_torque_ncm = models.DecimalField(
        max_digits=4, decimal_places=1, null=True, blank=True
    )
    second_at = models.DateTimeField(null=True, blank=True)
    # What closes the channel: "PTFE and composite", ...; empty means open.
    channel_closed_with = models.CharField(max_length=80, blank=True)

    FACTS = (
        "site",
        "component",
        "lot",
        "was_new",
        "torque_ncm",
        "tightened_at",
        "second_torque_ncm",
        "second_at",
        "channel_closed_with",
    )
    TYPED = {
        "lot": Code("Lot"),
        "channel_closed_with": Text("Channel closed with"),
    }
    PERSONAL = ()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["case", "site"], name="one_screw_record_per_site")
        ]

    def __str__(self):
        return f"screw at {self.site}"


class Delivery(Revised):
    """What was recorded when the work was left in the patient's mouth."""

    case = models.OneToOneField("casework.Case", models.PROTECT, related_name="delivery")
    on = models.DateField()
    by = models.CharField(max_length=120)
    cement = models.CharField(max_length=80, blank=True)
    excess_checked = models.BooleanField(null=True, blank=True)
    excess_checked_how = models.CharField(max_length=120, blank=True)
    bite_after = models.CharField(max_length=200, blank=True)
    # Baseline bone level by a radiograph, or why none was justified.
    baseline_radiograph = models.ForeignKey(
        "casework.Evidence", models.PROTECT, null=True, blank=True, related_name="+"
    )
    baseline_reason = models.TextField(blank=True)
    instructions_given = models.BooleanField(default=False)
    implant_record_given = models.BooleanField(default=False)
    note = models.TextField(blank=True)

    FACTS = (
        "on",
        "by",
        "cement",
        "excess_checked",
        "excess_checked_how",
        "bite_after",
        "baseline_number",
        "baseline_reason",
        "instructions_given",
        "implant_record_given",
        "note",
    )
    TYPED = {
        "by": Name("By"),
        "cement": Text("Cement"),
        "excess_checked_how": Text("How"),
        "bite_after": Text("Bite after delivery"),
        "baseline_reason": Text("or why none was justified"),
        "note": Text("Note"),
    }
    PERSONAL = ()

    def __str__(self):
        return f"delivery of case {self.case_id}"

    @property
    def baseline_number(self):
        return self.baseline_radiograph.number if self.baseline_radiograph else None


class FollowUp(Revised):
    """A follow-up visit: due by the practice's template, done with its findings or missed."""

    case = models.ForeignKey("casework.Case", models.PROTECT, related_name="follow_ups")
    # "48 hours", "1 week", "6 months", "12 months", "yearly"
    name = models.CharField(max_length=20)
    due_on = models.DateField()
    done_on = models.DateField(null=True, blank=True)
    done_by = models.CharField(max_length=120, blank=True)
    # "fine", "adjusted", "complication"
    outcome = models.CharField(max_length=20, blank=True)
    bite = models.CharField(max_length=14, blank=True)
    screws_tight = models.CharField(max_length=14, blank=True)
    chipping = models.CharField(max_length=14, blank=True)
    note = models.TextField(blank=True)

    FACTS = (
        "name",
        "due_on",
        "done_on",
        "done_by",
        "outcome",
        "bite",
        "screws_tight",
        "chipping",
        "note",
    )
    TYPED = {
        "done_by": Name("By"),
        "note": Text("Note"),
    }
    PERSONAL = ()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["case", "name"], name="one_follow_up_per_name")
        ]

    def __str__(self):
        return f"{self.name} visit of case {self.case_id}"


class FollowUpStep(models.Model):
    """One step of a practice's own template of follow-up visits."""

    practice = models.ForeignKey("orders.Party", models.CASCADE, related_name="follow_up_steps")
    amount = models.PositiveSmallIntegerField()
    # "hours", "days", "weeks", "months"
    unit = models.CharField(max_length=6)

    PERSONAL = ()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["practice", "amount", "unit"], name="one_follow_up_step"
            )
        ]

    def __str__(self):
        return f"{self.amount} {self.unit}"
