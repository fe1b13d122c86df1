"""Which threshold does each method keep, in which unit, and where does the figure come from?

Every row is a default that a party may replace; none is a clinical rule, and what the
instructions for use of the actual component or material say wins. `value` is the limit, `low`
and `high` the range in which figures are published or customary; `hard` is where a thing cannot
go on, or what else its title says. A row without `value` has only a range.
"""

from casework.limits.kinds import Limit, Sure, as_limits
from casework.limits.measures import ROWS as OF_MEASURES
from casework.limits.records import ROWS as OF_RECORDS

__all__ = ["LIMITS", "Limit", "NoSuchLimit", "Sure", "bytes_of", "limit"]


class NoSuchLimit(KeyError):
    """No row has that name."""


_BYTES = {"MiB": 1024**2, "GiB": 1024**3}
LIMITS = as_limits(OF_RECORDS + OF_MEASURES)


def limit(name: str) -> Limit:
    """The row of that name; raises NoSuchLimit."""
    try:
        return LIMITS[name]
    except KeyError:
        raise NoSuchLimit(name) from None


def bytes_of(name: str) -> int:
    """A limit given in MiB or GiB, in bytes."""
    row = limit(name)
    if row.unit not in _BYTES:
        raise ValueError(f"{name} is in {row.unit}, not in {' or '.join(_BYTES)}.")
    return int(row.value * _BYTES[row.unit])
