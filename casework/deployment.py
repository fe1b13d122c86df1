"""Which mistakes of setting up are named before the service starts?"""

from django.conf import settings
from django.core.checks import Error, register

LOOPBACK = {"127.0.0.1", "localhost", "[::1]", "testserver"}


@register
def served_beyond_this_machine(app_configs, **kwargs):
    """Beyond loopback, cookies must be kept to https and debugging be off."""
    problems = []
    if set(settings.ALLOWED_HOSTS) - LOOPBACK:
        if settings.DEBUG:
            problems.append(Error("Switch CASEWORK_DEBUG off.", id="casework.E001"))
        if not settings.HTTPS:
            problems.append(
                Error(
                    "The service is reachable from other machines without https.",
                    hint="Put it behind https and set CASEWORK_HTTPS=yes.",
                    id="casework.E002",
                )
            )
    return problems
