"""What can be ordered and placed: systems, parts and materials with their dimensions."""

from django.db import models


class System(models.Model):
    """A family of implants and their parts. Shared rows have no owner; a party adds its own."""

    owner = models.ForeignKey("orders.Party", models.PROTECT, null=True, blank=True)
    name = models.CharField(max_length=80)
    is_invented = models.BooleanField(default=False)

    PERSONAL = ()

    def __str__(self):
        return self.name


class Component(models.Model):
    """An implant, scan body, base, abutment, screw, driver or healing abutment by number."""

    owner = models.ForeignKey("orders.Party", models.PROTECT, null=True, blank=True)
    kind = models.CharField(max_length=20)
    system = models.ForeignKey(System, models.PROTECT, null=True, blank=True)
    part_number = models.CharField(max_length=60)
    name = models.CharField(max_length=120)
    # Words of the system; two parts fit where connection and platform agree.
    connection = models.CharField(max_length=60, blank=True)
    platform = models.CharField(max_length=60, blank=True)
    # Name with unit to decimal text: {"body_diameter_mm": "4.1", "length_mm": "10"}.
    dimensions = models.JSONField(default=dict, blank=True)
    torque_ncm = models.DecimalField(max_digits=4, decimal_places=1, null=True, blank=True)
    driver = models.ForeignKey("self", models.PROTECT, null=True, blank=True)
    is_engaging = models.BooleanField(null=True, blank=True)
    uses_max = models.PositiveSmallIntegerField(null=True, blank=True)
    material = models.CharField(max_length=60, blank=True)
    # Where the figures come from: "instructions for use", "calliper", "invented".
    source = models.CharField(max_length=120)
    measured_on = models.DateField(null=True, blank=True)
    is_verified = models.BooleanField(default=False)

    PERSONAL = ()

    class Meta:
        constraints = [
            # Two, because rows without an owner never clash in the first one.
            models.UniqueConstraint(
                fields=["owner", "kind", "part_number"], name="one_component_per_number"
            ),
            models.UniqueConstraint(
                fields=["kind", "part_number"],
                condition=models.Q(owner=None),
                name="one_shared_component_per_number",
            ),
        ]

    def __str__(self):
        return f"{self.part_number} {self.name}"


class Material(models.Model):
    """A material product with its family, class and limits."""

    owner = models.ForeignKey("orders.Party", models.PROTECT, null=True, blank=True)
    name = models.CharField(max_length=120)
    # "zirconia", "lithium disilicate", "metal", "titanium", "polymer"
    family = models.CharField(max_length=40)
    # Class 1-5 of ISO 6872 for ceramics, type 0-5 of ISO 22674 for metals.
    strength_class = models.PositiveSmallIntegerField(null=True, blank=True)
    flexural_strength_mpa = models.PositiveIntegerField(null=True, blank=True)
    composition = models.CharField(max_length=200, blank=True)
    # Limits from the material's own instructions: {"occlusal_min_mm": "1.0"}.
    limits = models.JSONField(default=dict, blank=True)
    source = models.CharField(max_length=120)
    is_invented = models.BooleanField(default=False)

    PERSONAL = ()

    def __str__(self):
        return self.name
