"""What stands in the jaw: implants per site, and which teeth exist."""

from django.db import models

from orders.records import Revised
from orders.typed import Code, Name, Text


class Implant(Revised):
    """One implant at one site of one patient, as its record says."""

    patient = models.ForeignKey("orders.Patient", models.PROTECT, related_name="implants")
    site = models.CharField(max_length=2)
    component = models.ForeignKey("orders.Component", models.PROTECT, null=True, blank=True)
    # As recorded; taken over from the component where it is known to the catalogue.
    system = models.CharField(max_length=80, blank=True)
    connection = models.CharField(max_length=60, blank=True)
    platform = models.CharField(max_length=60, blank=True)
    platform_diameter_mm = models.DecimalField(
        max_digits=5, decimal_places=2, null=True, blank=True
    )
    body_diameter_mm = models.DecimalField(
        max_digits=5, decimal_places=2, null=True, blank=True
    )
    length_mm = models.DecimalField(max_digits=5, decimal_places=2, null=True, blank=True)
    lot = models.CharField(max_length=40, blank=True)
    identifier = models.CharField(max_length=120, blank=True)
    # Where neither lot nor identifier is known: how the implant was identified.
    identified_how = models.TextField(blank=True)
    placed_on = models.DateField(null=True, blank=True)
    # Author of the report where it was placed elsewhere, else the surgeon's name.
    placed_by = models.CharField(max_length=120, blank=True)
    # "healthy", "inflamed", "not judged"; and what is over the implant now.
    soft_tissue = models.CharField(max_length=20, blank=True)
    healing_abutment_height_mm = models.DecimalField(
        max_digits=4, decimal_places=1, null=True, blank=True
    )

    FACTS = (
        "site",
        "component",
        "system",
        "connection",
        "platform",
        "platform_diameter_mm",
        "body_diameter_mm",
        "length_mm",
        "lot",
        "identifier",
        "identified_how",
        "placed_on",
        "placed_by",
        "soft_tissue",
        "healing_abutment_height_mm",
    )
    TYPED = {
        "lot": Code("Lot"),
        "identifier": Code("Device identifier"),
        "identified_how": Text("How it was identified"),
        "placed_by": Name("Placed by"),
        "system": Name("System"),
        "connection": Name("Connection"),
        "platform": Name("Platform"),
    }
    PERSONAL = ()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["patient", "site"], name="one_implant_per_site")
        ]

    def __str__(self):
        return f"implant at {self.site}"


class Dentition(Revised):
    """Which teeth exist, once per patient; and which are prepared for this work."""

    patient = models.OneToOneField("orders.Patient", models.PROTECT, related_name="dentition")
    # ISO 3950 codes along the arch.
    present = models.JSONField(default=list)
    prepared = models.JSONField(default=list, blank=True)
    checked_on = models.DateField()

    FACTS = ("present", "prepared", "checked_on")
    PERSONAL = ()

    def __str__(self):
        return f"teeth of {self.patient}"
