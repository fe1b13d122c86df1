"""Which quantities are there, by the names that results give them?"""

from functools import cache
from importlib import import_module
from pkgutil import walk_packages

import casework.measure
from casework.measure.results import Quantity


@cache
def quantities() -> dict[str, Quantity]:
    """Return every quantity that a module of this package declares, by its name."""
    found: dict[str, Quantity] = {}
    for module in walk_packages(casework.measure.__path__, f"{casework.measure.__name__}."):
        for quantity in getattr(import_module(module.name), "QUANTITIES", ()):
            if found.setdefault(quantity.name, quantity) != quantity:
                raise ValueError(f"two quantities are called {quantity.name}")
    return found
