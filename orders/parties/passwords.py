"""Is a password that is entered again the person's own? Wrong ones count as at sign-in do.

Whoever stands at a screen that was left open has as few tries as at the page of sign-in, and
the account waits as long. They count for the account alone: a service knows no address.
"""

from functools import wraps
from math import ceil

from axes.handlers.proxy import AxesProxyHandler
from axes.helpers import get_cool_off
from axes.models import AccessAttempt
from django.conf import settings
from django.db.models import Max
from django.http import HttpRequest
from django.utils import timezone
from django.utils.translation import ngettext

from orders.refusals import PasswordWrong, TooManyTries


def what_waits(request, credentials=None):
    """AXES_LOCKOUT_PARAMETERS: an account and an address; where there is none, the account."""
    return ["username", "ip_address"] if request.axes_ip_address else ["username"]


def require_password(person, password, *, otherwise):
    """Raise PasswordWrong with the sentence `otherwise` where the password is another.

    Raises TooManyTries, and compares nothing, while the account waits. For services that
    `counts_wrong_passwords`.
    """
    if _waits(person):
        raise _too_many(person)
    if not person.check_password(password):
        raise PasswordWrong(otherwise)
    AccessAttempt.objects.filter(username=person.email, ip_address=None).delete()


def counts_wrong_passwords(act):
    """Decorate a service with `by`: a wrong password counts after all else is rolled back."""

    @wraps(act)
    def counting(*args, by, **more):
        try:
            return act(*args, by=by, **more)
        except TooManyTries:
            raise
        except PasswordWrong:
            AxesProxyHandler.user_login_failed(
                sender=act, credentials=_credentials(by.person), request=HttpRequest()
            )
            if _waits(by.person):
                raise _too_many(by.person) from None
            raise

    return counting


def _credentials(person):
    return {settings.AXES_USERNAME_FORM_FIELD: person.email}


def _waits(person):
    return not AxesProxyHandler.is_allowed(HttpRequest(), _credentials(person))


def _too_many(person):
    last = AccessAttempt.objects.filter(username=person.email).aggregate(
        at=Max("attempt_time")
    )["at"]
    left_s = (last + get_cool_off() - timezone.now()).total_seconds()
    minutes = max(1, ceil(left_s / 60))
    return TooManyTries(
        ngettext(
            "The password was wrong too many times and is not tried now. Nothing was changed;"
            " enter it again in {minutes} minute.",
            "The password was wrong too many times and is not tried now. Nothing was changed;"
            " enter it again in {minutes} minutes.",
            minutes,
        ).format(minutes=minutes)
    )
