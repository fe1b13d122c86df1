"""Which refusal belongs to assigned work? The family itself is `orders.refusals`."""

from orders.refusals import Refused


class NotAssigned(Refused):
    """Another member of the same party has the work now."""
