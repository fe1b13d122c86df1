"""Which values were computed, by which method, from which bytes?"""

from django.db import models


class Measurement(models.Model):
    """Values of one method run on one input; another version or input is another row."""

    case = models.ForeignKey("casework.Case", models.PROTECT, related_name="measurements")
    evidence = models.ForeignKey(
        "casework.Evidence", models.PROTECT, null=True, blank=True, related_name="measurements"
    )
    method = models.CharField(max_length=40)
    method_version = models.CharField(max_length=20)
    # Digest over the digests of everything that was read, and the unit factor.
    input_digest = models.CharField(max_length=64)
    values = models.JSONField()
    made_at = models.DateTimeField()

    PERSONAL = ()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["case", "method", "method_version", "input_digest"],
                name="one_value_per_input",
            )
        ]
        indexes = [models.Index(fields=["input_digest"], name="values_by_input")]

    def __str__(self):
        return f"{self.method} {self.method_version} of case {self.case_id}"
