"""Which mesh tells the form of a scan body of the catalogue?"""

from django.db import models


class BodyForm(models.Model):
    """The mesh of a scan body's form as it came; the row without an end is the present one."""

    component = models.ForeignKey("orders.Component", models.PROTECT, related_name="body_forms")
    received_by = models.ForeignKey("orders.Membership", models.PROTECT, related_name="+")
    received_at = models.DateTimeField()
    # As the person's computer called it.
    original_name = models.CharField(max_length=255)
    size_bytes = models.PositiveBigIntegerField()
    sha256 = models.CharField(max_length=64)
    storage_key = models.CharField(max_length=200)
    # "STL", "PLY", "OBJ"
    format = models.CharField(max_length=12)
    # Factor to millimetres: "1", "25.4", "1000", ...
    unit_factor = models.CharField(max_length=12)
    triangle_count = models.PositiveIntegerField()
    # From the platform's plane to the top, and twice the largest distance from the axis.
    height_mm = models.DecimalField(max_digits=5, decimal_places=2)
    diameter_mm = models.DecimalField(max_digits=5, decimal_places=2)
    # Replaced or removed: the bytes stay, as cases were measured by them.
    ended_by = models.ForeignKey(
        "orders.Membership", models.PROTECT, null=True, blank=True, related_name="+"
    )
    ended_at = models.DateTimeField(null=True, blank=True)

    PERSONAL = ()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["component"],
                condition=models.Q(ended_at=None),
                name="one_present_form_per_scan_body",
            )
        ]

    def __str__(self):
        return f"form of {self.component}"
