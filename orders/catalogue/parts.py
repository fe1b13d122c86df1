"""Which kinds of part does the catalogue hold, and which dimensions has each?"""

IMPLANT, SCAN_BODY, BASE, ABUTMENT = "implant", "scan body", "base", "abutment"
RETAINING_SCREW, TRY_IN_SCREW = "retaining screw", "try-in screw"
DRIVER, HEALING_ABUTMENT = "driver", "healing abutment"

# The seat is that of the head, its height above the platform; the shank is what passes it.
_SCREW = (
    "length_mm", "head_diameter_mm", "head_height_mm", "shank_diameter_mm", "seat_height_mm",
)  # fmt: skip
# Kind to the dimensions that are asked for; all in millimetres.
DIMENSIONS = {
    IMPLANT: ("platform_diameter_mm", "body_diameter_mm", "length_mm"),
    SCAN_BODY: ("height_mm", "diameter_mm"),
    BASE: ("height_mm", "diameter_mm", "collar_height_mm"),
    ABUTMENT: ("height_mm", "diameter_mm", "collar_height_mm"),
    RETAINING_SCREW: _SCREW,
    TRY_IN_SCREW: _SCREW,
    DRIVER: (
        "length_mm", "tip_diameter_mm", "tip_length_mm", "shank_diameter_mm", "shank_length_mm",
        "handle_diameter_mm",
    ),
    HEALING_ABUTMENT: ("height_mm", "diameter_mm"),
}  # fmt: skip
# Those that a part may have and need not: what of a scan body is not round.
OPTIONAL = {
    SCAN_BODY: ("top_diameter_mm", "bevel_mm", "flat_depth_mm", "flat_from_mm"),
}
KINDS = tuple(DIMENSIONS)


def dimensions_of(kind: str) -> tuple[str, ...]:
    """Every dimension that a part of a kind may have."""
    return (*DIMENSIONS[kind], *OPTIONAL.get(kind, ()))


ALL_DIMENSIONS = tuple(dict.fromkeys(name for kind in KINDS for name in dimensions_of(kind)))
# Kinds that sit in a connection and fit where connection and platform agree.
FIT_A_CONNECTION = frozenset({IMPLANT, SCAN_BODY, BASE, ABUTMENT, HEALING_ABUTMENT})
TIGHTENED = frozenset({SCAN_BODY, RETAINING_SCREW, TRY_IN_SCREW, HEALING_ABUTMENT})

CALLIPER = "calliper"
SOURCES = ("instructions for use", CALLIPER, "certificate", "invented")


def dimension_words(name: str) -> str:
    """ "head_diameter_mm" as people say it."""
    return name.removesuffix("_mm").replace("_", " ")


def objections_to_component(
    kind: str, *, connection: str, dimensions: dict, source: str, measured_on
) -> tuple[tuple[str, str], ...]:
    """Field and sentence for what a catalogue row lacks or says against itself."""
    found = []
    if kind not in DIMENSIONS:
        found.append(("kind", f"Choose one of: {', '.join(KINDS)}."))
        return tuple(found)
    if kind in FIT_A_CONNECTION and not connection:
        found.append(("connection", "Name the connection: whether parts fit is judged by it."))
    strange = sorted(set(dimensions) - set(dimensions_of(kind)))
    for name in strange:
        found.append((name, f"A {kind} has no {dimension_words(name)}. Leave it empty."))
    if not source:
        found.append(("source", "Say where the figures come from."))
    if source == CALLIPER and measured_on is None:
        found.append(("measured_on", "Name the day the part was measured."))
    if source != CALLIPER and measured_on is not None:
        found.append(
            ("measured_on", "A day belongs to readings of your own. Choose 'calliper'.")
        )
    return tuple(found)
