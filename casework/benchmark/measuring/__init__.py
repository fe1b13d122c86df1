"""How do the measures stand beside the obvious general-purpose way, in the same run?"""

from typing import NamedTuple


class Comparison(NamedTuple):
    """One computation timed beside its alternative, both warm, in seconds."""

    name: str
    ours_s: float
    theirs_s: float | None  # None where no general-purpose way exists
    ours_note: str = ""
    theirs_note: str = ""
