"""Every abutment leaves the restoration the height that its material asks for.

Measured from the abutment to the opposing jaw, before or beside any restoration. What the
material's own instructions say wins; defaults for zirconia and lithium disilicate are common
practice, no source (docs/limits.md).
"""

from casework.checks import (
    OF_VALUES,
    Check,
    ask,
    at_least,
    not_known,
    note,
    of,
    part_at,
)
from casework.checks.walls_sufficient import DEFAULTS, OCCLUSAL, wall_limit

WHATS = {"opposing_room": "room from the abutment to the opposing jaw"}


def run(facts, limits):
    measured = facts["measured"]
    for row in of(measured, "opposing_room"):
        material = _material(measured, row["subject"], facts["prescription"])
        limit = wall_limit(material, OCCLUSAL, limits)
        if limit is None:
            yield ask("no_limit", row["subject"])
        else:
            yield from at_least(row, limit, "low", what=WHATS["opposing_room"])
    # Where the opposing jaw is far, or was not scanned, its height is spoken of elsewhere.
    yield from not_known(measured, note, **WHATS)


def _material(measured, site, prescription):
    """The material of the restoration at a site; where none is designed, the ordered one."""
    part = part_at(measured, site, "bridge", "crown")
    if part and part["material"] in measured["materials"]:
        return measured["materials"][part["material"]]
    ordered = prescription or {}
    return {
        "family": ordered.get("material_family"),
        "limits": ordered.get("material_limits"),
    }


CHECK = Check(
    title="Abutments leave room for the restoration",
    reads=("measured", "prescription"),
    limits=tuple(name for (_family, kind), name in DEFAULTS.items() if kind == OCCLUSAL),
    run=run,
    sentences={
        **OF_VALUES,
        "low": (
            "Between the abutment at {subject} and the opposing jaw there is less room than the"
            " restoration's material asks for.",
            "Lower the abutment, choose another material, or say what gives room.",
        ),
        "no_limit": (
            "No least thickness over the abutment is known for the material at {subject}.",
            "Take it from the material's instructions, and say how the room was judged.",
        ),
    },
)
