"""When is a party closed, and which visits are booked?"""

from django.db import models

from orders.records import Revised
from orders.typed import Text


class ClosingDay(models.Model):
    """A day on which a party does not work, beside weekends and its region's holidays."""

    party = models.ForeignKey("orders.Party", models.CASCADE, related_name="closing_days")
    day = models.DateField()
    why = models.CharField(max_length=80, blank=True)

    PERSONAL = ()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["party", "day"], name="one_row_per_closing_day")
        ]

    def __str__(self):
        return f"{self.party} closed on {self.day}"


class Appointment(Revised):
    """A visit of the patient that was booked for a case."""

    case = models.ForeignKey("casework.Case", models.PROTECT, related_name="appointments")
    # "try-in", "delivery", or the name of a follow-up
    kind = models.CharField(max_length=20)
    at = models.DateTimeField()
    minutes = models.PositiveSmallIntegerField(default=60)
    # "booked", "done", "missed", "cancelled"
    state = models.CharField(max_length=12, default="booked")
    # Driver and torque wrench in the house, checked for this visit.
    tools_ready = models.BooleanField(default=False)
    # Stated where it was booked before parts can be there.
    reason = models.CharField(max_length=200, blank=True)

    FACTS = ("kind", "at", "minutes", "state", "tools_ready", "reason")
    TYPED = {
        "reason": Text("Reason"),
    }
    PERSONAL = ()

    class Meta:
        indexes = [models.Index(fields=["case", "state", "at"], name="visits_by_time")]

    def __str__(self):
        return f"{self.kind} of case {self.case_id} at {self.at}"
