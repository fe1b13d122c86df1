"""Which colour is wanted, named after which guide, seen in which light?"""

from django.db import models

from orders.records import Revised
from orders.shades.rules import LIGHTS
from orders.typed import Text


class ShadeGuide(models.Model):
    """A party's own guide: the names of its tabs. None is shipped."""

    owner = models.ForeignKey("orders.Party", models.PROTECT)
    name = models.CharField(max_length=80)
    tabs = models.JSONField(default=list)
    is_invented = models.BooleanField(default=False)

    PERSONAL = ()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["owner", "name"], name="one_guide_per_name")
        ]

    def __str__(self):
        return self.name


class ShadeNote(Revised):
    """The shade of one order, per zone, with how it was taken."""

    order = models.OneToOneField("orders.Order", models.PROTECT, related_name="shade_note")
    guide = models.ForeignKey(ShadeGuide, models.PROTECT)
    # Zone to tab; the zones are cervical, body and incisal.
    cervical = models.CharField(max_length=20, blank=True)
    body = models.CharField(max_length=20)
    incisal = models.CharField(max_length=20, blank=True)
    gum_shade = models.CharField(max_length=40, blank=True)
    # "daylight", "lamp 5500 K", ...; colour temperature where known.
    light = models.CharField(max_length=60)
    light_k = models.PositiveIntegerField(null=True, blank=True)
    taken_before_drying = models.BooleanField(null=True, blank=True)
    taken_on = models.DateField()
    whitening_ended_on = models.DateField(null=True, blank=True)
    note = models.TextField(blank=True)

    FACTS = (
        "guide",
        "cervical",
        "body",
        "incisal",
        "gum_shade",
        "light",
        "light_k",
        "taken_before_drying",
        "taken_on",
        "whitening_ended_on",
        "note",
    )
    TYPED = {
        "gum_shade": Text("Gum shade"),
        "light": Text("Light", LIGHTS),
        "note": Text("Note"),
    }
    PERSONAL = ()

    def __str__(self):
        return f"shade of {self.order}"
