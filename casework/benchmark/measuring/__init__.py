"""How do the measures stand beside the obvious general-purpose way, in the same run?"""

import time
from typing import NamedTuple


class Comparison(NamedTuple):
    """One computation timed beside its alternative, both warm, in seconds."""

    name: str
    ours_s: float
    theirs_s: float | None  # None where no general-purpose way exists
    ours_note: str = ""
    theirs_note: str = ""


def best_of(call, rounds: int = 3) -> float:
    """Return the shortest of some rounds in seconds, after one to warm up."""
    call()
    times = []
    for _ in range(rounds):
        start = time.perf_counter()
        call()
        times.append(time.perf_counter() - start)
    return min(times)


def spread_of(points, most: int):
    """Return at most about so many of points (k, 3), spread evenly over them."""
    return points[:: max(len(points) // most, 1)][:most]
