"""Which limits are in force at a party on a day?"""

from dataclasses import replace

from casework import limits as default_limits
from casework.findings.models import PartyLimit


def limits_of(party, on):
    """A function from a limit's name to the value in force at a party on a day."""
    own = {
        row.name: row
        for row in PartyLimit.objects.filter(party=party, since__lte=on).order_by("since", "pk")
    }

    def read(name):
        limit = default_limits.limit(name)
        if row := own.get(name):
            return replace(limit, value=row.value, source=row.source)
        return limit

    return read
