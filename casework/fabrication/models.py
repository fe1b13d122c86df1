"""Which parts were made of what, and which parcels carried them?"""

from django.db import models

from orders.records import Revised
from orders.typed import Code, Name, Text


class MaterialLot(models.Model):
    """A disc, blank, furnace run or bag of one lot; one serves many parts."""

    owner = models.ForeignKey("orders.Party", models.PROTECT, related_name="+")
    material = models.ForeignKey("orders.Material", models.PROTECT, related_name="+")
    lot = models.CharField(max_length=40)
    certificate = models.CharField(max_length=120, blank=True)
    # "disc", "blank", "powder", "wire", ...
    form = models.CharField(max_length=20, blank=True)
    received_on = models.DateField(null=True, blank=True)

    PERSONAL = ()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["owner", "material", "lot"], name="one_row_per_lot")
        ]

    def __str__(self):
        return f"{self.material} lot {self.lot}"


class Part(Revised):
    """One part of the work: it may be delivered while another goes back."""

    case = models.ForeignKey("casework.Case", models.PROTECT, related_name="work_parts")
    design_part = models.ForeignKey(
        "casework.DesignPart", models.PROTECT, null=True, blank=True, related_name="made"
    )
    # As in DesignPart, and "retaining screw" (sealed, final), "try-in screw", "driver",
    # "statement"
    kind = models.CharField(max_length=20)
    sites = models.JSONField(default=list)
    component = models.ForeignKey(
        "orders.Component", models.PROTECT, null=True, blank=True, related_name="+"
    )
    # Stock parts carry their own lot, made parts the lot of what they are made of.
    lot = models.CharField(max_length=40, blank=True)
    material_lot = models.ForeignKey(
        MaterialLot, models.PROTECT, null=True, blank=True, related_name="parts"
    )
    milling_record = models.CharField(max_length=200, blank=True)
    furnace_record = models.CharField(max_length=200, blank=True)
    made_by = models.ForeignKey(
        "orders.Membership", models.PROTECT, null=True, blank=True, related_name="+"
    )
    made_on = models.DateField(null=True, blank=True)
    is_sealed = models.BooleanField(default=False)
    inspected_by = models.ForeignKey(
        "orders.Membership", models.PROTECT, null=True, blank=True, related_name="+"
    )
    inspected_on = models.DateField(null=True, blank=True)
    inspection_note = models.TextField(blank=True)
    disinfected_on = models.DateField(null=True, blank=True)
    # What it has cost so far, as its maker states it; kept when a case is cancelled.
    cost = models.DecimalField(max_digits=9, decimal_places=2, null=True, blank=True)
    # "at laboratory", "at milling centre", "on the way", "at practice", "tried in",
    # "delivered", "lost", "damaged", "replaced"
    place = models.CharField(max_length=20, default="at laboratory")

    FACTS = (
        "kind",
        "sites",
        "component",
        "lot",
        "material_lot",
        "milling_record",
        "furnace_record",
        "made_by",
        "made_on",
        "is_sealed",
        "inspected_by",
        "inspected_on",
        "inspection_note",
        "disinfected_on",
        "cost",
        "place",
    )
    TYPED = {
        "lot": Code("Lot"),
        "material_lot": Code("Material lot"),
        "milling_record": Text("Milling record"),
        "furnace_record": Text("Furnace record"),
        "inspection_note": Text("What was found"),
    }
    PERSONAL = ()

    def __str__(self):
        return f"{self.kind} {', '.join(self.sites)}".strip()


class Parcel(Revised):
    """What travelled together, by whom, when it should be there and what arrived."""

    case = models.ForeignKey("casework.Case", models.PROTECT, related_name="parcels")
    # The open move it is packed for; the handoff is filled in when that is offered.
    move = models.CharField(max_length=30)
    handoff = models.ForeignKey(
        "casework.Handoff", models.PROTECT, null=True, blank=True, related_name="parcels"
    )
    from_party = models.ForeignKey("orders.Party", models.PROTECT, related_name="+")
    to_party = models.ForeignKey("orders.Party", models.PROTECT, related_name="+")
    courier = models.CharField(max_length=80, blank=True)
    tracking = models.CharField(max_length=80, blank=True)
    expected_on = models.DateField(null=True, blank=True)
    disinfected = models.BooleanField(default=False)
    has_statement = models.BooleanField(default=False)
    sent_at = models.DateTimeField(null=True, blank=True)
    arrived_at = models.DateTimeField(null=True, blank=True)
    counted_by = models.ForeignKey(
        "orders.Membership", models.PROTECT, null=True, blank=True, related_name="+"
    )
    # "packed", "on the way", "arrived", "lost", "damaged", "taken back"
    state = models.CharField(max_length=12, default="packed")
    note = models.TextField(blank=True)

    FACTS = (
        "move",
        "from_party",
        "to_party",
        "courier",
        "tracking",
        "expected_on",
        "disinfected",
        "has_statement",
        "state",
        "note",
    )
    TYPED = {
        "courier": Name("Courier"),
        "tracking": Code("Tracking number"),
        "note": Text("Note"),
    }
    PERSONAL = ()

    def __str__(self):
        return f"parcel {self.pk} of case {self.case_id}"


class ParcelLine(models.Model):
    """One part in a parcel, and whether it was there when it was counted."""

    parcel = models.ForeignKey(Parcel, models.PROTECT, related_name="lines")
    part = models.ForeignKey(Part, models.PROTECT, related_name="travels")
    # Empty until counted.
    is_there = models.BooleanField(null=True, blank=True)
    is_sound = models.BooleanField(null=True, blank=True)

    PERSONAL = ()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["parcel", "part"], name="one_line_per_part")
        ]

    def __str__(self):
        return f"{self.part} in {self.parcel}"
