"""What is done with a shared computer: register, lock, step in by PIN, withdraw."""

import secrets

from django.contrib.auth.hashers import check_password, make_password
from django.core.exceptions import PermissionDenied
from django.db import transaction
from django.db.models import F
from django.utils import timezone
from django.utils.crypto import salted_hmac
from django.utils.translation import gettext as _

from orders.canonical import digest_of_bytes
from orders.devices.models import Device, Interruption, Pin, PinTries
from orders.devices.queries import device_with, pin_of
from orders.devices.rules import (
    KEPT_FOR,
    WRONG_PINS_MAX,
    is_worth_noting,
    objections_to_pin,
    typed_only,
)
from orders.events import announce
from orders.jobs.services import enqueue, finish
from orders.parties.passwords import counts_wrong_passwords, require_password
from orders.parties.queries import memberships_of
from orders.refusals import Refused
from orders.roles import Role

SECRET_BYTES = 32


class PinWrong(Refused):
    """The PIN is not the member's, or is not tried any more."""


@counts_wrong_passwords
def register_device(*, by, name, password, at=None):
    """Make the browser in hand a shared one; returns its row and the secret it has to keep."""
    if not by.has(Role.ADMINISTRATOR):
        raise PermissionDenied
    _check_password(by, password)
    at, secret = at or timezone.now(), secrets.token_urlsafe(SECRET_BYTES)
    with transaction.atomic():
        if Device.objects.filter(party=by.party, name=name, withdrawn_at=None).exists():
            raise Refused(_("Another device is called {name}.").format(name=name))
        device = Device.objects.create(
            party=by.party,
            name=name,
            secret_digest=_digest_of(secret),
            registered_by=by,
            registered_at=at,
            seen_at=at,
        )
        _announce("device.registered", device, by)
    return device, secret


def device_of_secret(secret):
    """The device in use that keeps this secret, or None."""
    return device_with(_digest_of(secret))


def withdraw_device(device, *, by, at=None):
    """Let nobody step in there by PIN any more; the session there ends with its next page."""
    if not by.has(Role.ADMINISTRATOR) or device.party_id != by.party_id:
        raise PermissionDenied
    with transaction.atomic():
        rows = Device.objects.filter(pk=device.pk, withdrawn_at=None)
        if not rows.update(withdrawn_by=by, withdrawn_at=at or timezone.now()):
            raise Refused(_("{name} was withdrawn before.").format(name=device.name))
        Interruption.objects.filter(device=device).delete()
        _announce("device.withdrawn", device, by)


@counts_wrong_passwords
def set_pin(*, by, password, pin, at=None):
    """Choose one's PIN at the party's devices; tries that were counted begin anew."""
    _check_password(by, password)
    if against := objections_to_pin(pin):
        raise Refused(*against)
    says = {
        "encoded": make_password(_keyed(pin)),
        "stands_on": by.person.get_session_auth_hash(),
        "set_at": at or timezone.now(),
    }
    with transaction.atomic():
        Pin.objects.update_or_create(member=by, defaults=says)
        PinTries.objects.filter(member=by).delete()
        _announce_pin("pin.set", by)


def remove_pin(*, by):
    """Step in by password alone from here on."""
    with transaction.atomic():
        removed, _rows = Pin.objects.filter(member=by).delete()
        if removed:
            _announce_pin("pin.removed", by)


def note_use(device, *, at):
    """Write down, now and then, that somebody is at the device; nothing once it is locked."""
    if is_worth_noting(device.seen_at, device.party.lock_after_minutes, at):
        Device.objects.filter(pk=device.pk, locked_at=None).update(seen_at=at)


def lock_device(device, *, by, why, page, at=None):
    """Lock it and remember the page of who was there. What is locked already stays as it is."""
    at = at or timezone.now()
    with transaction.atomic():
        if not Device.objects.filter(pk=device.pk, locked_at=None).update(locked_at=at):
            return
        left = Interruption.objects.filter(device=device, member=by).first()
        if left is None or left.page != page:
            _keep(device, by, page, "", [], at)
        _announce("device.locked", device, by, why=why)


def keep_typed(device, *, by, page, action, pairs, at=None):
    """Keep what a member typed into a form that was not carried out."""
    if typed := typed_only(pairs):
        with transaction.atomic():
            left = _keep(device, by, page, action, typed, at or timezone.now())
            enqueue("devices.forget_typed", left.pk, due_at=left.at + KEPT_FOR)


def forget_typed(interruption_id, job, *, at=None):
    """Job: what nobody came back for goes when its time is over."""
    at = at or timezone.now()
    with transaction.atomic():
        left = Interruption.objects.filter(pk=interruption_id).first()
        if left is not None and left.at <= at - KEPT_FOR:
            left.delete()
        elif left is not None and left.typed:
            enqueue(job.kind, left.pk, due_at=left.at + KEPT_FOR)
        finish(job)


def drop_typed(device, *, by, action=None):
    """Forget what was kept: the form was sent, or its author does not want it back."""
    rows = Interruption.objects.filter(device=device, member=by)
    (rows if action is None else rows.filter(action=action)).delete()


def enter_by_pin(device, member, *, pin, after=None, at=None):
    """Unlock the device for a member whose PIN it is; raises PinWrong.

    `after` is who was there before. A try is counted before the PIN is compared, so that no
    number of requests at once gets more of them.
    """
    stored = pin_of(member) if member.party_id == device.party_id else None
    if stored is None:
        raise PinWrong(_("Sign in with your password; there is no PIN of yours here."))
    tries = _take_a_try(device, member)
    if tries is None:
        raise PinWrong(
            _("The PIN was wrong {count} times. Sign in with your password.").format(
                count=WRONG_PINS_MAX
            )
        )
    is_right = check_password(_keyed(pin), stored.encoded)
    with transaction.atomic():
        if is_right:
            PinTries.objects.filter(pk=tries.pk).delete()
            _unlock(device, at or timezone.now())
            _announce("device.entered", device, member, how="PIN", after=_name_of(after))
        else:
            facts = {"person": member.person.name, "count": tries.wrong_count}
            _announce("device.pin_wrong", device, None, **facts)
    if not is_right:
        raise PinWrong(_still(WRONG_PINS_MAX - tries.wrong_count))


def enter_by_password(device, person, *, after=None, at=None):
    """Unlock the device for somebody who signed in there; wrong PINs count no more."""
    memberships = memberships_of(person)
    here = [row for row in memberships if row.party_id == device.party_id]
    with transaction.atomic():
        PinTries.objects.filter(device=device, member__person=person).delete()
        _unlock(device, at or timezone.now())
        member = (here or memberships)[0]
        _announce("device.entered", device, member, how="password", after=_name_of(after))


def _keep(device, member, page, action, typed, at):
    page, action = page.replace("\0", ""), action.replace("\0", "")
    left = {"page": page, "action": action, "typed": typed, "at": at}
    row, _made = Interruption.objects.update_or_create(
        device=device, member=member, defaults=left
    )
    return row


def _take_a_try(device, member):
    """The count with this try in it, or None where there is none left."""
    with transaction.atomic():
        tries, _made = PinTries.objects.get_or_create(device=device, member=member)
        left = PinTries.objects.filter(pk=tries.pk, wrong_count__lt=WRONG_PINS_MAX)
        if not left.update(wrong_count=F("wrong_count") + 1):
            return None
        tries.refresh_from_db()
    return tries


def _still(count):
    if not count:
        return _("This is not the PIN, and it is not tried any more. Sign in by password.")
    if count == 1:
        return _("This is not the PIN. One more try, then only the password lets you in.")
    return _("This is not the PIN. {count} tries are left.").format(count=count)


def _unlock(device, at):
    Device.objects.filter(pk=device.pk).update(locked_at=None, seen_at=at)


def _check_password(by, password):
    wrong = _("The password is not yours; nothing was changed.")
    require_password(by.person, password, otherwise=wrong)


def _keyed(pin):
    """The PIN keyed with the installation's secret: the table alone does not tell it."""
    return salted_hmac("orders.devices.pin", pin, algorithm="sha256").hexdigest()


def _digest_of(secret):
    return digest_of_bytes(secret.encode())


def _name_of(member):
    return member.person.name if member is not None else ""


def _announce(kind, device, by, **facts):
    announce(
        kind,
        subject=f"{device._meta.label}:{device.pk}",
        by=by,
        facts={"device": device.name, **facts},
    )


def _announce_pin(kind, by):
    subject = f"{by._meta.label}:{by.pk}"
    announce(kind, subject=subject, by=by, facts={"person": by.person.name})
