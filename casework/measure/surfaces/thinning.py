"""Which of many points stand for all of them, whatever their order?"""

import numpy as np

TURN = (np.sqrt(5.0) - 1.0) / 2.0  # of a circle: its multiples never bunch


def evenly(count: int, most: int) -> np.ndarray:
    """Return about `most` of the numbers 0 to `count` - 1 in their order, the same each time.

    Not every so-many-th: the vertices of a file often repeat with a period, and a step that
    meets it would leave whole sides of a body out. The places of the multiples of the golden
    section fall evenly (H. Weyl, Über die Gleichverteilung von Zahlen mod. Eins, 1916).
    """
    if count <= most:
        return np.arange(count)
    return np.flatnonzero((np.arange(count) * TURN) % 1.0 < most / count)
