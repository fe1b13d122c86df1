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

    @property
    def pictures_asked(self):
        return [row for row in self.pictures.all() if not row.is_of_answer]

    @property
    def pictures_answered(self):
        return [row for row in self.pictures.all() if row.is_of_answer]


class QuestionPicture(models.Model):
    """A picture shown with a question or with its answer; kept without its metadata."""

    question = models.ForeignKey(Question, models.PROTECT, related_name="pictures")
    # Counts within the question; those of the answer go on from those of the question.
    number = models.PositiveIntegerField()
    is_of_answer = models.BooleanField()
    # "PNG", "JPEG"
    format = models.CharField(max_length=12)
    # As it is shown, turned upright.
    width_px = models.PositiveIntegerField()
    height_px = models.PositiveIntegerField()
    # Of the bytes that are kept. A screen may show a name: they go at erasure.
    size_bytes = models.PositiveBigIntegerField()
    sha256 = models.CharField(max_length=64)
    storage_key = models.CharField(max_length=200, blank=True)

    PERSONAL = ("storage_key",)

    class Meta:
        ordering = ["number"]
        constraints = [
            models.UniqueConstraint(
                fields=["question", "number"], name="one_number_per_question_picture"
            )
        ]

    def __str__(self):
        return f"picture {self.number} of {self.question}"
