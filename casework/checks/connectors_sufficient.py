"""Every connector of a bridge is large, high and round enough for its material and span.

No standard fixes connector sections: the defaults are common practice, no source, or from
memory (docs/limits.md). What the material's own instructions say wins; where neither says
anything, no limit is known, and that is said.
"""

from decimal import Decimal

from casework.checks import OF_VALUES, Check, ask, at_least, not_known, of, own_limit, part_at
from casework.limits import Limit, Sure
from casework.limits.connectors import connector_limit

AREA, HEIGHT, ROUNDING = "connector_area", "connector_height", "embrasure_radius"
WHATS = {
    AREA: "smallest section of the connector",
    HEIGHT: "height of the connector",
    ROUNDING: "rounding under the connector",
}
ROUNDED = "embrasure_radius_min"


def run(facts, limits):
    measured = facts["measured"]
    heights = {row["subject"]: row for row in of(measured, HEIGHT)}
    for row in of(measured, AREA):
        yield from _connector(row, heights.get(row["subject"]), measured)
    for row in of(measured, ROUNDING):
        yield from at_least(row, limits(ROUNDED), "sharp", what=WHATS[ROUNDING])
    yield from not_known(measured, **{AREA: WHATS[AREA], HEIGHT: WHATS[HEIGHT]})


def _connector(row, height, measured):
    subject, details = row["subject"], row["details"]
    if not details.get("is_joined", True):
        yield ask("not_joined", subject)
        return
    bridge = part_at(measured, subject, "bridge")
    name = bridge["material"] if bridge else ""
    material = measured["materials"].get(name)
    known = _known(material, details)
    area = own_limit(_area(known), material, "connector_min_mm2")
    if area.value is None:
        yield _without(subject, name, material, details)
    else:
        yield from at_least(row, area, "small", what=WHATS[AREA], span=_span(details))
    if known and height:
        yield from at_least(
            height, _height(known), "low", what=WHATS[HEIGHT], span=_span(details)
        )


def _known(material, details):
    """The row of the table for a connector, None where there is none."""
    if not material or "pontics" not in details:
        return None
    return connector_limit(
        material.get("family", ""),
        material.get("strength_class"),
        details["region"],
        int(details["pontics"]),
        details["is_cantilever"],
    )


def _area(known):
    value, low, high = (known.area_mm2, known.low_mm2, known.high_mm2) if known else [None] * 3
    return _limit("section of a connector, at least", "mm²", value, low, high, known)


def _height(known):
    return _limit("height of a connector, at least", "mm", known.height_mm, None, None, known)


def _limit(title, unit, value: Decimal | None, low, high, known):
    source = known.source if known else ""
    return Limit("connector", title, value, unit, low, high, source, Sure.PRACTICE)


def _without(subject, name, material, details):
    if not material:
        return ask("no_material", subject)
    if "pontics" not in details:
        return ask("no_span", subject)
    return ask("no_limit", subject, material=name, span=_span(details))


def _span(details):
    """What a connector bears, in words."""
    if "pontics" not in details:
        return "its span is not told"
    count = int(details["pontics"])
    pontics = f"{count} pontic{'' if count == 1 else 's'}"
    return f"{details['region']}, {pontics}{', hanging' if details['is_cantilever'] else ''}"


CHECK = Check(
    title="Connectors are strong enough",
    reads=("measured",),
    limits=(ROUNDED,),
    run=run,
    sentences={
        **OF_VALUES,
        "not_joined": (
            "Nothing joins the two units at {subject}.",
            "Join them in the design, or say that the bridge is meant in two pieces.",
        ),
        "small": (
            "The connector at {subject} is smaller than asked for ({span}).",
            "Enlarge it, or say why it is enough.",
        ),
        "low": (
            "The connector at {subject} is lower than asked for ({span}).",
            "Raise it, or say why it is enough.",
        ),
        "sharp": (
            "The embrasure under the connector at {subject} is sharper than asked for.",
            "Round it, or say why it is enough.",
        ),
        "no_limit": (
            "No limit is known for the connector at {subject} in {material} ({span}).",
            "Take it from the material's instructions, and say how it was judged.",
        ),
        "no_span": (
            "The connector at {subject} is not judged: which units hold and which hang is not"
            " told.",
            "Tell the units, or say how it was judged.",
        ),
        "no_material": (
            "The connector at {subject} is not judged: no material is named for the bridge.",
            "Name the material, or say how large it must be.",
        ),
    },
)
