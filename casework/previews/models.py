"""Which smaller meshes were made of which files, and how far are they from them?"""

from django.db import models


class Preview(models.Model):
    """A mesh of fewer triangles in millimetres, to be looked at; nothing is measured on it."""

    evidence = models.ForeignKey("casework.Evidence", models.PROTECT, related_name="previews")
    # The unit as it was settled when the preview was made, and the way it was made.
    unit_factor = models.CharField(max_length=12)
    version = models.CharField(max_length=20)
    storage_key = models.CharField(max_length=200)
    sha256 = models.CharField(max_length=64)
    size_bytes = models.PositiveIntegerField()
    triangle_count = models.PositiveIntegerField()
    of_triangle_count = models.PositiveIntegerField()
    # Distances of the file's corners from it: 99 of 100, and all of them.
    error_p99_um = models.FloatField()
    error_worst_um = models.FloatField()
    has_colour = models.BooleanField()
    # Directions in the frame of the file: from the gums to the teeth; to the front of the
    # mouth, null where the surface shows no whole arch.
    facing = models.JSONField()
    front = models.JSONField(null=True)
    made_at = models.DateTimeField()

    PERSONAL = ()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["evidence", "unit_factor", "version"], name="one_preview_per_reading"
            )
        ]

    def __str__(self):
        return f"preview of {self.evidence_id}"
