"""Which quantities are there, by the names that results give them?"""

from importlib import import_module
from pkgutil import walk_packages

import casework.measure
from casework.measure.results import Quantity


def _gathered() -> dict[str, Quantity]:
    found = {}
    for module in walk_packages(casework.measure.__path__, f"{casework.measure.__name__}."):
        if module.name == __name__:
            continue
        for quantity in getattr(import_module(module.name), "QUANTITIES", ()):
            if found.setdefault(quantity.name, quantity) != quantity:
                raise ValueError(f"two quantities are called {quantity.name}")
    return found


QUANTITIES = _gathered()
