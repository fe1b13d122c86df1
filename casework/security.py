"""What does every answer carry, and how is a refusal shown?"""

import logging
import secrets
from functools import partial

from django.db import OperationalError
from django.http import Http404
from django.shortcuts import render
from django.utils.translation import gettext as _
from django.views.defaults import page_not_found

from orders.devices.middleware import left_typed, page_of
from orders.records import ChangedMeanwhile
from orders.refusals import Refused

logger = logging.getLogger(__name__)
POLICY = (
    "default-src 'self'; script-src 'self' 'nonce-{nonce}'; style-src 'self' 'nonce-{nonce}';"
    " img-src 'self' data: blob:; object-src 'none'; base-uri 'none'; form-action 'self';"
    " frame-ancestors 'none'"
)


NUL = "\0"


class AddressMiddleware:
    """No address holds the character NUL, which PostgreSQL cannot even look for.

    In the path it names nothing there is; behind the question mark it is left out.
    """

    def __init__(self, get_response):
        self.get_response = get_response

    def __call__(self, request):
        if NUL in request.path:
            return page_not_found(request, Http404())
        if "%00" in request.META.get("QUERY_STRING", ""):
            asked = request.GET.copy()
            for name, values in request.GET.lists():
                asked.setlist(name, [value.replace(NUL, "") for value in values])
            request.GET = asked
        return self.get_response(request)


class HeadersMiddleware:
    """Adds the content policy; pages about patients are kept out of shared caches."""

    def __init__(self, get_response):
        self.get_response = get_response

    def __call__(self, request):
        request.csp_nonce = secrets.token_urlsafe(16)
        response = self.get_response(request)
        response.setdefault("Content-Security-Policy", POLICY.format(nonce=request.csp_nonce))
        response.setdefault("Permissions-Policy", "camera=(self), geolocation=()")
        response.setdefault("Cache-Control", "private, no-store")
        return response


class RefusalMiddleware:
    """A refusal nobody caught becomes a page with its sentences and status 409, never a 500."""

    def __init__(self, get_response):
        self.get_response = get_response

    def __call__(self, request):
        return self.get_response(request)

    def process_exception(self, request, exception):
        status = 409
        if isinstance(exception, Refused):
            sentences = exception.sentences
        elif isinstance(exception, ChangedMeanwhile):
            sentences = [str(exception)]
        elif isinstance(exception, OperationalError):
            # Locked too long, or ended as one of two that waited for each other.
            logger.exception("the database could not do %s", request.path)
            status = 503
            sentences = [_("The database was busy. Wait a moment and press again.")]
        else:
            return None
        return render(request, "casework/refused.html", {"sentences": sentences}, status=status)


class Nobody:
    """Who reads a page before signing in: of no party, and false where it is asked for."""

    party = None

    def __bool__(self):
        return False


def page_context(request):
    """What every page knows: who acts, where, and the nonce for its script."""
    return {
        "member": getattr(request, "member", None) or Nobody(),
        "memberships": getattr(request, "memberships", []),
        "csp_nonce": getattr(request, "csp_nonce", ""),
        "device": getattr(request, "device", None),
        # Asked only where a page shows them.
        "page_open": partial(page_of, request),
        "left_typed": partial(left_typed, request),
    }
