"""What does one threshold say: which figure, in which unit, where from, how sure?"""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum


class Sure(StrEnum):
    """How far the figure was traced."""

    READ = "the source's abstract or page was read"
    MEMORY = "from memory"
    PRACTICE = "common practice, no source"
    OURS = "chosen here"


@dataclass(frozen=True, slots=True)
class Limit:
    name: str
    title: str  # what is limited, and to which side
    value: Decimal | None
    unit: str
    low: Decimal | None
    high: Decimal | None
    source: str
    sure: Sure
    hard: Decimal | None = None


READ, MEMORY, PRACTICE, OURS = Sure
NO_SOURCE = "common practice, no source"
OWN = "chosen here for this service"


def as_limits(rows: Iterable[tuple]) -> dict[str, Limit]:
    """Rows of (name, title, value, low, high, unit, sure, source[, hard]) as limits by name."""
    return {row[0]: _limit(*row) for row in rows}


def _limit(name, title, value, low, high, unit, sure, source, hard=None):
    value, low, high, hard = (text and Decimal(text) for text in (value, low, high, hard))
    return Limit(name, title, value, unit, low, high, source, sure, hard)
