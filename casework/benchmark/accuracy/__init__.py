"""How far are measured values from the known truth of seeded synthetic cases?"""

from typing import NamedTuple

import numpy as np


class Row(NamedTuple):
    """Absolute errors of one quantity under one condition."""

    quantity: str
    unit: str
    condition: str
    median: float
    p95: float
    worst: float
    count: int


def summary(quantity: str, unit: str, condition: str, errors) -> Row:
    """Return the row of errors (k,); their signs are left out."""
    sizes = np.abs(np.asarray(list(errors), float))
    if not len(sizes):
        raise ValueError(f"no error of {quantity} was measured")
    median, p95 = np.quantile(sizes, [0.5, 0.95])
    return Row(
        quantity, unit, condition, float(median), float(p95), float(sizes.max()), len(sizes)
    )
