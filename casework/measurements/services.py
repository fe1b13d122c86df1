"""How is a computed value kept, once for each method version and input?"""

import math

from django.utils import timezone

from casework.measurements.models import Measurement


def keep_measurement(case, *, evidence, method, version, input_digest, values, at=None):
    """Write the values unless they stand already, in the caller's transaction."""
    row, _is_new = Measurement.objects.get_or_create(
        case=case,
        method=method,
        method_version=version,
        input_digest=input_digest,
        defaults={
            "evidence": evidence,
            "values": _plain(values),
            "made_at": at or timezone.now(),
        },
    )
    return row


def _plain(values):
    """The values as JSON holds them; a number that is none is not known."""
    if isinstance(values, dict):
        return {key: _plain(value) for key, value in values.items()}
    if isinstance(values, list | tuple):
        return [_plain(value) for value in values]
    if isinstance(values, float) and not math.isfinite(values):
        return None
    return values
