"""Which computers are shared, who steps in there by PIN, and what was open when one locked?"""

from django.db import models
from django.utils.crypto import constant_time_compare

from orders.parties.models import Membership, Party


class Device(models.Model):
    """A browser that a party registered: several people use it one after another."""

    party = models.ForeignKey(Party, models.PROTECT, related_name="devices")
    name = models.CharField(max_length=60)
    # SHA-256 of the secret in the device's cookie; the secret itself stands nowhere else.
    secret_digest = models.CharField(max_length=64, unique=True)
    registered_by = models.ForeignKey(Membership, models.PROTECT, related_name="+")
    registered_at = models.DateTimeField()
    withdrawn_by = models.ForeignKey(Membership, models.PROTECT, null=True, related_name="+")
    withdrawn_at = models.DateTimeField(null=True)
    # When somebody last did something at it, and since when it is locked.
    seen_at = models.DateTimeField()
    locked_at = models.DateTimeField(null=True)

    PERSONAL = ()

    def __str__(self):
        return self.name


class Pin(models.Model):
    """The short number by which one member steps in at the party's registered devices."""

    member = models.OneToOneField(Membership, models.CASCADE, related_name="pin")
    # By the hasher of passwords, over the number keyed with the installation's secret.
    encoded = models.CharField(max_length=128)
    # What the sessions of the password it was set with carry: another password voids the PIN.
    stands_on = models.CharField(max_length=128)
    set_at = models.DateTimeField()

    PERSONAL = ()

    def __str__(self):
        return f"PIN of {self.member}"

    @property
    def stands(self):
        return constant_time_compare(self.stands_on, self.member.person.get_session_auth_hash())


class PinTries(models.Model):
    """Wrong PINs of one member at one device since the last right one or the password."""

    device = models.ForeignKey(Device, models.CASCADE, related_name="tries")
    member = models.ForeignKey(Membership, models.CASCADE, related_name="+")
    wrong_count = models.PositiveSmallIntegerField(default=0)

    PERSONAL = ()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["device", "member"], name="one_pin_count")
        ]

    def __str__(self):
        return f"{self.wrong_count} wrong by {self.member} at {self.device}"


class Interruption(models.Model):
    """The page a member had open at a device when it locked, and what was typed there."""

    device = models.ForeignKey(Device, models.CASCADE, related_name="+")
    member = models.ForeignKey(Membership, models.CASCADE, related_name="+")
    page = models.TextField()
    # Where the form would have gone, and its fields as pairs of name and text.
    action = models.TextField(blank=True)
    typed = models.JSONField(default=list)
    at = models.DateTimeField()

    # Gone by a job within hours, or with the next press of that form.
    PERSONAL = ("typed",)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["device", "member"], name="one_interruption")
        ]

    def __str__(self):
        return f"{self.member} at {self.page}"

    @property
    def form(self):
        """What a page's script needs to type it again."""
        return {"action": self.action, "typed": self.typed}
