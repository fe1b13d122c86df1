"""What does the fact `measured` look like? Invented values of a bridge 45-47 on abutments."""

from decimal import Decimal

UNITS = [
    {"tooth": "45", "kind": "retainer", "stands_on": "implant"},
    {"tooth": "46", "kind": "pontic", "stands_on": ""},
    {"tooth": "47", "kind": "retainer", "stands_on": "implant"},
]
ZIRCONIA = {"family": "zirconia", "strength_class": 5, "limits": {}, "source": "its leaflet"}
TITANIUM = {"family": "titanium", "strength_class": 4, "limits": {}, "source": "its leaflet"}


def decimal(value):
    return None if value is None else Decimal(str(value))


def value(quantity, subject, amount, unit="mm", doubt=None, *, step="", because="", **details):
    """One row; `amount` None says that it is not known."""
    return {
        "step": step or quantity,
        "quantity": quantity,
        "subject": subject,
        "value": decimal(amount),
        "unit": unit,
        "place_mm": None,
        "uncertainty": decimal(doubt),
        "method": "",
        "because": because,
        "details": {
            key: decimal(one) if isinstance(one, float) else one for key, one in details.items()
        },
    }


def file(name, role, sites=(), material="", of=""):
    return {"name": name, "role": role, "sites": list(sites), "material": material, "of": of}


def step(name, subject="", because=""):
    return {"step": name, "subject": subject, "is_measured": not because, "because": because}


def files():
    return [
        file("file 1", "working_arch_scan_bodies", ("45", "47")),
        file("file 2", "working_arch"),
        file("file 3", "opposing_arch"),
        file("file 20", "bridge", ("45", "46", "47"), "Invented zirconia"),
        file("file 21", "abutment", ("45",), "Invented titanium"),
        file("file 22", "abutment", ("47",), "Invented titanium"),
    ]


def measured(*results, **changes):
    """The fact with some results and nothing else to say."""
    return {
        "waiting": [],
        "not_told": [],
        "steps": [],
        "results": list(results),
        "materials": {"Invented zirconia": ZIRCONIA, "Invented titanium": TITANIUM},
        "files": files(),
        "sites": ["45", "47"],
        "expected": None,
        "units": [dict(unit) for unit in UNITS],
    } | changes


def zirconia(**limits):
    """The materials, where the leaflet of the bridge's zirconia names limits of its own."""
    return {"Invented zirconia": ZIRCONIA | {"limits": limits}, "Invented titanium": TITANIUM}
