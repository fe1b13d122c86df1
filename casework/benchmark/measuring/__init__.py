"""How do the measures stand beside the obvious general-purpose way, in the same run?"""

import time
from typing import NamedTuple


class Comparison(NamedTuple):
    """One computation timed beside its alternative, both warm, in seconds of the processor."""

    name: str
    ours_s: float
    theirs_s: float | None  # None where no general-purpose way exists
    ours_note: str = ""
    theirs_note: str = ""


def best_of(call, rounds: int = 3) -> float:
    """Return the least processor time of some rounds in seconds, after one to warm up.

    That of all threads together: what else the machine does does not count, nor do its cores.
    """
    call()
    times = []
    for _ in range(rounds):
        start = time.process_time()
        call()
        times.append(time.process_time() - start)
    return min(times)


def spread_of(points, most: int):
    """Return at most about so many of points (k, 3), spread evenly over them."""
    return points[:: max(len(points) // most, 1)][:most]
