"""What does a measured value say: how much of what, where, how sure, found which way?"""

import math
from dataclasses import dataclass, field
from typing import Any

# What `details["reads"]` says of a value that is a bound only.
AT_LEAST, AT_MOST = "at least", "at most"


@dataclass(frozen=True, slots=True)
class Quantity:
    """What can be measured: its name in results, in words, its unit, the method in one line.

    `unit` is "mm", "deg", "mm2", "µm" or "" for a ratio or a count.
    """

    name: str
    title: str
    unit: str
    method: str

    def of(
        self,
        subject: str,
        value: float | None,
        place_mm=None,
        uncertainty: float | None = None,
        **details: Any,
    ) -> "Measured":
        """Return the value of this quantity of a subject; see `Measured`."""
        return Measured(
            self.name, subject, _number(value), self.unit, _point(place_mm),
            _number(uncertainty), self.method, "", details,
        )  # fmt: skip

    def at_least(self, subject: str, value: float, **details: Any) -> "Measured":
        """Return that the value is at least so much, where a search ended at a reach."""
        return self.of(subject, value, reads=AT_LEAST, **details)

    def not_known(
        self, subject: str, because: str, place_mm=None, **details: Any
    ) -> "Measured":
        """Return that the value cannot be had, with a full sentence that says why."""
        return Measured(
            self.name, subject, None, self.unit, _point(place_mm), None, self.method, because,
            details,
        )  # fmt: skip


@dataclass(frozen=True, slots=True)
class Measured:
    """One value of one quantity.

    `subject` is a site in ISO 3950 ("45"), two of them ("45-47"), a part or a file as its set
    names it. `place_mm` is a point in the frame of the meshes measured. `uncertainty` is half
    the width of the 95 % interval about this mesh, in `unit`; None where none can be stated.
    `value` None means not known, and `because` says why. `details` holds plain values more
    (numbers, text, lists, dictionaries), named with their unit; "reads" among them says where
    the value is a bound only (`AT_LEAST`, `AT_MOST`).
    """

    quantity: str
    subject: str
    value: float | None
    unit: str
    place_mm: tuple[float, float, float] | None
    uncertainty: float | None
    method: str
    because: str = ""
    details: dict = field(default_factory=dict)

    @property
    def is_known(self) -> bool:
        return self.value is not None

    def as_dict(self) -> dict:
        """Return the value as JSON holds it."""
        return {
            "quantity": self.quantity,
            "subject": self.subject,
            "value": self.value,
            "unit": self.unit,
            "place_mm": None if self.place_mm is None else list(self.place_mm),
            "uncertainty": self.uncertainty,
            "method": self.method,
            "because": self.because,
            "details": plain(self.details),
        }


def with_bound(words: str, details: dict) -> str:
    """Return the words of a value, with "at least" or "at most" before a bound."""
    reads = details.get("reads")
    return f"{reads} {words}" if reads in (AT_LEAST, AT_MOST) else words


def plain(value: Any) -> Any:
    """Return numpy's numbers and arrays as plain ones; a number that is none becomes None."""
    if isinstance(value, dict):
        return {str(key): plain(one) for key, one in value.items()}
    if isinstance(value, list | tuple):
        return [plain(one) for one in value]
    if hasattr(value, "tolist"):
        return plain(value.tolist())
    if isinstance(value, float) and not math.isfinite(value):
        return None
    return value


def _number(value):
    if value is None:
        return None
    value = float(value)
    if not math.isfinite(value):
        raise ValueError("a measured value is a number, or not known with a reason")
    return value


def _point(place_mm):
    return None if place_mm is None else tuple(float(x) for x in place_mm)
