"""What was measured in the mouth, how did scan bodies sit, how was the bite taken?"""

from django.db import models

from orders.records import Revised
from orders.typed import Code, Name, Text


class Reading(Revised):
    """One reading: a quantity with its value, direction and day."""

    case = models.ForeignKey("casework.Case", models.PROTECT, related_name="readings")
    site = models.CharField(max_length=2)
    # readings.rules.QUANTITIES: stability quotient, insertion torque, torque test, probing, ...
    quantity = models.CharField(max_length=30)
    value = models.DecimalField(max_digits=7, decimal_places=2, null=True, blank=True)
    # "mesial", "distal", "buccal", "lingual", "forward", "reverse", ...
    direction = models.CharField(max_length=20, blank=True)
    # For torque tests: held without rotation; for bleeding, mobility, ...: yes or no.
    held = models.BooleanField(null=True, blank=True)
    measured_on = models.DateField()
    measured_by = models.CharField(max_length=120)
    note = models.TextField(blank=True)

    FACTS = (
        "site",
        "quantity",
        "value",
        "direction",
        "held",
        "measured_on",
        "measured_by",
        "note",
    )
    TYPED = {
        "measured_by": Name("Read by"),
        "note": Text("Note"),
    }
    PERSONAL = ()

    def __str__(self):
        return f"{self.quantity} at {self.site}"


class ScanBodyUse(Revised):
    """The scan body placed at one site for the scans of one case."""

    case = models.ForeignKey("casework.Case", models.PROTECT, related_name="scan_bodies")
    site = models.CharField(max_length=2)
    component = models.ForeignKey("orders.Component", models.PROTECT)
    lot = models.CharField(max_length=40, blank=True)
    # How often this very scan body was used, this time counted.
    use_count = models.PositiveSmallIntegerField(null=True, blank=True)
    torque_ncm = models.DecimalField(max_digits=4, decimal_places=1, null=True, blank=True)
    # "torque wrench", "driver by hand"
    tightened_how = models.CharField(max_length=30, blank=True)
    placed_on = models.DateField()
    # Seating verified by a radiograph, or by a clinician's stated reason.
    radiograph = models.ForeignKey(
        "casework.Evidence", models.PROTECT, null=True, blank=True, related_name="+"
    )
    seating_reason = models.TextField(blank=True)
    seating_by = models.CharField(max_length=120, blank=True)

    FACTS = (
        "site",
        "component",
        "lot",
        "use_count",
        "torque_ncm",
        "tightened_how",
        "placed_on",
        "radiograph_number",
        "seating_reason",
        "seating_by",
    )
    TYPED = {
        "lot": Code("Lot"),
        "seating_reason": Text("Or seen by a clinician"),
        "seating_by": Name("Clinician"),
    }
    PERSONAL = ()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["case", "site"], name="one_scan_body_per_site")
        ]

    def __str__(self):
        return f"scan body at {self.site}"

    @property
    def radiograph_number(self):
        return self.radiograph.number if self.radiograph else None


class Pointed(models.Model):
    """Where somebody pointed at the scan body of a site in one scan; the newest row counts."""

    case = models.ForeignKey("casework.Case", models.PROTECT, related_name="pointed")
    evidence = models.ForeignKey("casework.Evidence", models.PROTECT, related_name="+")
    site = models.CharField(max_length=2)
    # In the frame of the scan, mm; null takes back what was said before.
    place_mm = models.JSONField(null=True)
    made_by = models.ForeignKey("orders.Membership", models.PROTECT, related_name="+")
    made_at = models.DateTimeField()

    PERSONAL = ()

    def __str__(self):
        return f"scan body at {self.site} pointed at"


class BiteNote(Revised):
    """How the bite was taken."""

    case = models.OneToOneField("casework.Case", models.PROTECT, related_name="bite_note")
    # "maximum intercuspation", "centric relation", "other"
    position = models.CharField(max_length=40)
    # What was seated in the mouth while it was taken.
    seated = models.CharField(max_length=120)
    # Is there support behind the gap, or does the work end the row?
    support_behind = models.BooleanField(null=True, blank=True)
    # The jaws came aligned from the scan itself, without a bite scan file.
    jaws_aligned = models.BooleanField(default=False)
    foil_held_at = models.CharField(max_length=120, blank=True)
    taken_on = models.DateField()
    note = models.TextField(blank=True)

    FACTS = (
        "position",
        "seated",
        "support_behind",
        "jaws_aligned",
        "foil_held_at",
        "taken_on",
        "note",
    )
    TYPED = {
        "seated": Text("What was seated"),
        "foil_held_at": Text("Pairs that held the foil"),
        "note": Text("Note"),
    }
    PERSONAL = ()

    def __str__(self):
        return f"bite of case {self.case_id}"
