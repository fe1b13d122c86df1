"""Which measured values lie at a place, and which number has it in papers and pictures?"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import numpy as np

SAME_PLACE = 2  # decimals of a millimetre


@dataclass(frozen=True, eq=False)
class Spot:
    """One measured value, as `Measured.as_dict` gives it, that lies at a place."""

    number: int
    result: Mapping
    place_mm: np.ndarray

    @property
    def quantity(self) -> str:
        return self.result["quantity"]

    @property
    def subject(self) -> str:
        return self.result["subject"]

    @property
    def is_of_a_region(self) -> bool:
        """Is it the least of one region, beside the least of the whole?"""
        return bool(self.result["details"].get("region"))

    @property
    def value(self) -> float | None:
        return self.result["value"]


def spots_of(results: Iterable[Mapping]) -> dict[int, Spot]:
    """Return the spots by the index of their row.

    Places are numbered from 1 in the order of rows; values at one place share its number.
    """
    spots, numbers = {}, {}
    for index, row in enumerate(results):
        if row["place_mm"] is not None:
            place = np.array(row["place_mm"], float)
            number = numbers.setdefault(tuple(np.round(place, SAME_PLACE)), len(numbers) + 1)
            spots[index] = Spot(number, row, place)
    return spots


def least(spots: Iterable[Spot]) -> Spot | None:
    """Return the spot of the smallest known value, regions apart; None where there is none."""
    known = [spot for spot in spots if spot.value is not None and not spot.is_of_a_region]
    return min(known, key=lambda spot: (spot.value, spot.number), default=None)
