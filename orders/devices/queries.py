"""Which device is this, who may step in there, and what was open when it locked?"""

from django.db.models import F

from orders.devices.models import Device, Interruption, Pin, PinTries
from orders.devices.rules import KEPT_FOR, WRONG_PINS_MAX


def device_with(secret_digest):
    """The device in use whose secret has this digest, or None."""
    return (
        Device.objects.filter(secret_digest=secret_digest, withdrawn_at=None)
        .select_related("party")
        .first()
    )


def devices_of(party):
    """Every device a party registered, those in use first."""
    rows = Device.objects.filter(party=party).select_related(
        "registered_by__person", "withdrawn_by__person"
    )
    return rows.order_by(F("withdrawn_at").desc(nulls_first=True), "name", "pk")


def pin_of(member):
    """The PIN of a member at work, where the password it was set with still holds."""
    pin = _pins().filter(member=member).first()
    return pin if pin is not None and pin.stands else None


def members_by_pin(device):
    """Members of the device's party who step in by PIN, and those whose PIN waits here."""
    rows = _pins().filter(member__party=device.party_id).order_by("member__person__name")
    members = [row.member for row in rows if row.stands]
    waiting = set(
        PinTries.objects.filter(device=device, wrong_count__gte=WRONG_PINS_MAX).values_list(
            "member", flat=True
        )
    )
    return (
        [member for member in members if member.pk not in waiting],
        [member for member in members if member.pk in waiting],
    )


def _pins():
    return Pin.objects.filter(
        member__is_active=True, member__person__is_active=True
    ).select_related("member__person", "member__party")


def interruption_of(device, member, at):
    """What the member had open at the device when it locked, within the time it is kept."""
    rows = Interruption.objects.filter(device=device, member=member, at__gt=at - KEPT_FOR)
    return rows.first()
