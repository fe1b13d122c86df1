"""Which refusals belong to moving a case? The family itself is `orders.refusals`."""

from orders.refusals import Refused


class MoveRefused(Refused):
    """The move cannot be made on the present facts."""


class MovedMeanwhile(Refused):
    """Somebody else moved the case first."""
