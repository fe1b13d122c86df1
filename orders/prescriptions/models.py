"""What is ordered: the order, and its prescription in revisions, signed and then fixed."""

from django.db import models
from django.db.models import Q

from orders.canonical import digest_of
from orders.prescriptions import rules
from orders.typed import Text


class Order(models.Model):
    """One piece of work for one patient; its code stands for it everywhere outside."""

    code = models.CharField(max_length=12, unique=True)
    practice = models.ForeignKey("orders.Party", models.PROTECT, related_name="+")
    patient = models.ForeignKey("orders.Patient", models.PROTECT, related_name="orders")
    prescriber = models.ForeignKey("orders.Membership", models.PROTECT, related_name="+")
    laboratory = models.ForeignKey(
        "orders.Party", models.PROTECT, null=True, blank=True, related_name="+"
    )
    # A complication or a remake is a new order that names the old one.
    linked_to = models.ForeignKey("self", models.PROTECT, null=True, blank=True)
    link_reason = models.CharField(max_length=200, blank=True)
    opened_at = models.DateTimeField(auto_now_add=True)

    PERSONAL = ()

    def __str__(self):
        return self.code


class SignedAlready(Exception):
    """Somebody tried to write a signed prescription again."""


def _refuse_rewriting(prescription, stored, update_fields):
    if stored is None or stored["state"] == "draft":
        return
    ends = stored["state"] == "signed" and prescription.state == "superseded"
    if ends and set(update_fields or ()) == {"state"}:
        return
    raise SignedAlready(f"{prescription} is signed and is never written again.")


class Prescription(models.Model):
    """One revision. A draft may change; a signed one is never written again."""

    order = models.ForeignKey(Order, models.PROTECT, related_name="prescriptions")
    number = models.PositiveIntegerField()
    # "draft", "signed", "superseded"
    state = models.CharField(max_length=12, default="draft")
    # Counts saves of the draft, so that two tabs cannot overwrite each other.
    revision = models.PositiveIntegerField(default=1)
    changed_at = models.DateTimeField(auto_now=True)

    # [{"tooth": "45", "kind": "retainer"|"pontic"|"crown", "on": "implant"|"tooth"}]
    units = models.JSONField(default=list, blank=True)
    # {"45": {"level": "implant"|"intermediate abutment", "engaging": true|false,
    #  "build": "one piece"|"abutment and restoration", "abutment_material": "titanium",
    #  "base_material": "titanium"|""}}
    sites = models.JSONField(default=dict, blank=True)
    material_family = models.CharField(max_length=40, blank=True)
    strength_class = models.PositiveSmallIntegerField(null=True, blank=True)
    material = models.ForeignKey("orders.Material", models.PROTECT, null=True, blank=True)
    # "screw", "cement"
    retention = models.CharField(max_length=10, blank=True)
    margin_depth_mm = models.DecimalField(max_digits=4, decimal_places=2, null=True, blank=True)
    contacts = models.CharField(max_length=60, blank=True)
    occlusal_scheme = models.CharField(max_length=60, blank=True)
    # "none", "suspected", "known"
    grinding = models.CharField(max_length=12, blank=True)
    pontic_form = models.CharField(max_length=40, blank=True)
    emergence = models.CharField(max_length=60, blank=True)
    surface = models.CharField(max_length=60, blank=True)
    gum_shade_wanted = models.BooleanField(default=False)
    # "none known" is an answer, an empty field is not.
    allergies = models.CharField(max_length=200, blank=True)
    wanted_on = models.DateField(null=True, blank=True)
    is_rush = models.BooleanField(default=False)
    try_in_wanted = models.BooleanField(default=True)
    # A look at the design may be waived only here, for single crowns.
    look_waived = models.BooleanField(default=False)
    fee = models.CharField(max_length=80, blank=True)
    note = models.TextField(blank=True)

    signed_by = models.ForeignKey(
        "orders.Membership", models.PROTECT, null=True, blank=True, related_name="+"
    )
    signed_at = models.DateTimeField(null=True, blank=True)
    signed_digest = models.CharField(max_length=64, blank=True)

    FACTS = (
        "number",
        "units",
        "sites",
        "material_family",
        "strength_class",
        "material",
        "retention",
        "margin_depth_mm",
        "contacts",
        "occlusal_scheme",
        "grinding",
        "pontic_form",
        "emergence",
        "surface",
        "gum_shade_wanted",
        "allergies",
        "wanted_on",
        "is_rush",
        "try_in_wanted",
        "look_waived",
        "fee",
        "note",
    )
    TYPED = {
        "allergies": Text("Allergies", (rules.NONE_KNOWN,)),
        "fee": Text("Fee or estimate"),
        "note": Text("Note to the laboratory"),
    }
    PERSONAL = ()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["order", "number"], name="one_number_per_order"),
            models.UniqueConstraint(
                fields=["order"], condition=Q(state="draft"), name="one_draft_per_order"
            ),
            models.UniqueConstraint(
                fields=["order"], condition=Q(state="signed"), name="one_signed_per_order"
            ),
        ]

    def __str__(self):
        return f"{self.order} prescription {self.number}"

    def save(self, *args, **more):
        """Refuse to write again what is signed; only its state may become "superseded"."""
        if self.pk and not self._state.adding:
            stored = type(self).objects.filter(pk=self.pk).values("state", "signed_digest")
            _refuse_rewriting(self, stored.first(), more.get("update_fields"))
        super().save(*args, **more)

    def delete(self, *args, **more):
        if self.state != "draft":
            raise SignedAlready(f"{self} is signed and is kept.")
        return super().delete(*args, **more)

    @property
    def subject(self):
        return f"{self._meta.label}:{self.pk}"

    def facts(self):
        values = {name: getattr(self, name) for name in self.FACTS}
        values["material"] = str(self.material) if self.material else None
        return values

    def digest(self):
        return digest_of(self.facts())

    @property
    def teeth(self):
        return tuple(unit["tooth"] for unit in self.units)

    @property
    def implant_sites(self):
        return tuple(unit["tooth"] for unit in self.units if unit.get("on") == "implant")
