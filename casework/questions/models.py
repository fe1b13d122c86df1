"""What does one side ask the other?"""

from django.db import models


class Question(models.Model):
    """A question about a case, a finding or a file, and its answer."""

    case = models.ForeignKey("casework.Case", models.PROTECT, related_name="questions")
    number = models.PositiveIntegerField()
    asked_by = models.ForeignKey("orders.Membership", models.PROTECT, related_name="+")
    asked_at = models.DateTimeField()
    to_party = models.ForeignKey("orders.Party", models.PROTECT, related_name="+")
    # What it is about: a subject ("casework.Evidence:4") or empty for the case.
    about = models.CharField(max_length=60, blank=True)
    text = models.TextField()
    answer = models.TextField(blank=True)
    answered_by = models.ForeignKey(
        "orders.Membership", models.PROTECT, null=True, blank=True, related_name="+"
    )
    answered_at = models.DateTimeField(null=True, blank=True)
    # "written", "call noted"
    answered_how = models.CharField(max_length=20, blank=True)

    PERSONAL = ()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["case", "number"], name="one_number_per_question")
        ]

    def __str__(self):
        return f"question {self.number} of case {self.case_id}"
