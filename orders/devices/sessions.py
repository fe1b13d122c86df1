"""How does a browser show that it is a registered one, and its session pass to somebody else?

A PIN continues what a password began: the session of a shared computer ends twelve hours after
the password, whoever stepped in meanwhile.
"""

from datetime import timedelta

from axes.handlers.proxy import AxesProxyHandler
from django.conf import settings
from django.contrib import auth
from django.middleware.csrf import rotate_token
from django.utils import timezone

from orders.devices.services import device_of_secret, enter_by_password
from orders.parties.middleware import SESSION_KEY

COOKIE = "casework_device"
COOKIE_SALT = "orders.devices"
# A device is registered anew after this time; browsers keep no cookie much longer.
COOKIE_AGE = timedelta(days=365)
DEVICE_KEY, BY_PIN_KEY = "device", "by_pin"


def device_of(request):
    """The registered device this browser is, or None."""
    age_s = COOKIE_AGE.total_seconds()
    secret = request.get_signed_cookie(COOKIE, default="", salt=COOKIE_SALT, max_age=age_s)
    return device_of_secret(secret) if secret else None


def remember_device(response, secret):
    """Give the browser the secret; no script reads it, no other site sends it."""
    response.set_signed_cookie(
        COOKIE,
        secret,
        salt=COOKIE_SALT,
        max_age=COOKIE_AGE,
        secure=settings.SESSION_COOKIE_SECURE,
        httponly=True,
        samesite="Lax",
    )


def is_bound(request):
    """Whether the session was begun at, or taken over by, a registered device."""
    return DEVICE_KEY in request.session


def is_bound_elsewhere(request):
    """Whether the session belongs to another device than this, or to one that was withdrawn."""
    device_id = request.device.pk if request.device is not None else None
    return is_bound(request) and request.session[DEVICE_KEY] != device_id


def bind(request, at):
    """Tie the session to the device, from a password on."""
    request.session[DEVICE_KEY] = request.device.pk
    request.session.pop(BY_PIN_KEY, None)
    request.session.set_expiry(at + timedelta(seconds=settings.SESSION_COOKIE_AGE))


def is_by_pin(request):
    return BY_PIN_KEY in request.session


def waits(request, member):
    """Whether the account, or this place, waits after too many wrong passwords."""
    asked = {settings.AXES_USERNAME_FORM_FIELD: member.person.email}
    return not AxesProxyHandler.is_allowed(request, asked)


def hand_over(request, member):
    """Let the session go on as another member's, under another key, to the same end.

    Not by `auth.login`: whoever listens there takes it that a password was entered.
    """
    session, person = request.session, member.person
    ends_at, backend = session.get_expiry_date(), session[auth.BACKEND_SESSION_KEY]
    if session.get(auth.SESSION_KEY) == str(person.pk):
        session.cycle_key()
    else:
        session.flush()
        # Pages of who was there before cannot be sent in another name.
        rotate_token(request)
    session[auth.SESSION_KEY] = str(person.pk)
    session[auth.BACKEND_SESSION_KEY] = backend
    session[auth.HASH_SESSION_KEY] = person.get_session_auth_hash()
    session[SESSION_KEY] = member.pk
    session[DEVICE_KEY], session[BY_PIN_KEY] = request.device.pk, True
    session.set_expiry(ends_at)


def on_signed_in(sender, request, user, **kwargs):
    """Listener: a password was entered; on a registered device this unlocks it."""
    if getattr(request, "device", None) is None:
        return
    request.session.cycle_key()
    bind(request, timezone.now())
    enter_by_password(request.device, user, after=request.locked)
