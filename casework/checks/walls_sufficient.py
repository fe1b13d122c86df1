"""Every wall of a designed part is as thick as its material asks for, region by region.

What the material's own instructions say wins. Defaults for zirconia and lithium disilicate are
common practice, no source; zirconia round a screw channel is from J Oral Implantol
2017;43(5):328, the wall of a titanium abutment from public summaries (docs/limits.md).
"""

from casework.checks import OF_VALUES, Check, ask, at_least, not_known, of, own_limit, part_at

OCCLUSAL, AXIAL, MARGIN, CHANNEL = "occlusal", "axial", "margin", "channel"
ROUND_CHANNEL = "round the screw channel"
UPWARD = ("upper", "occlusal", "incisal")
METALS = ("titanium", "metal")
# What the material's own record calls the limit of a kind of wall.
OWN = {
    OCCLUSAL: "occlusal_min_mm",
    AXIAL: "axial_min_mm",
    MARGIN: "margin_min_mm",
    CHANNEL: "wall_min_mm",
}
DEFAULTS = {
    ("zirconia", OCCLUSAL): "zirconia_occlusal_min",
    ("zirconia", AXIAL): "zirconia_axial_min",
    ("zirconia", MARGIN): "zirconia_margin_min",
    ("zirconia", CHANNEL): "zirconia_wall_around_base",
    ("lithium disilicate", OCCLUSAL): "disilicate_occlusal_min",
}
METAL_ABUTMENT = "titanium_abutment_wall_min"


def run(facts, limits):
    measured = facts["measured"]
    without = {}
    for row, part, region in _walls(measured):
        name = part["material"] if part else ""
        material = measured["materials"].get(name)
        is_abutment = bool(part) and part["role"] == "abutment"
        limit = _limit(material, _kind(row, region), is_abutment, limits)
        if limit is None:
            key = (part["name"] if part else row["subject"], name)
            without.setdefault(key, set()).add(region)
        else:
            words = f"{part['role']} ({part['name']})"
            what = f"wall of the {words}, {region},"
            yield from at_least(row, limit, "thin", what=what, part=words, region=region)
    for (subject, name), regions in without.items():
        if name:
            where = ", ".join(sorted(regions))
            yield ask("no_limit", subject, material=name, regions=where)
        else:
            yield ask("no_material", subject)
    # A region without a value has no wall; the part as a whole has one.
    whole = [row for row in measured["results"] if not row["details"].get("region")]
    whats = {
        "wall_thickness": "wall",
        "local_thickness": "thickness",
        "channel_wall": "wall round the screw channel",
    }
    yield from not_known(measured | {"results": whole}, **whats)


def _walls(measured):
    """Every wall with the part it belongs to and its region, each wall once."""
    around = set()
    for row in of(measured, "channel_wall"):
        part = part_at(measured, row["details"]["part"], "abutment", "bridge", "crown")
        around.add((row["subject"], row["details"]["part"]))
        yield row, part, ROUND_CHANNEL
    for row in of(measured, "wall_thickness", "local_thickness"):
        roles = ("abutment",) if row["step"] == "abutment" else ("bridge", "crown")
        part = part_at(measured, row["subject"], *roles)
        region = row["details"].get("region")
        is_channel = row["details"].get("other_side") == CHANNEL
        is_said = is_channel and part and (row["subject"], part["name"]) in around
        # Without a region it is the least of all, which stand for themselves.
        if region and not is_said:
            yield row, part, region


def _kind(row, region):
    if region == ROUND_CHANNEL or row["details"].get("other_side") == CHANNEL:
        return CHANNEL
    if region == MARGIN:
        return MARGIN
    return OCCLUSAL if region in UPWARD else AXIAL


def _limit(material, kind, is_abutment, limits):
    if is_abutment and (material or {}).get("family") in METALS:
        return own_limit(limits(METAL_ABUTMENT), material, OWN[CHANNEL])
    return wall_limit(material, kind, limits)


def wall_limit(material, kind, limits):
    """The limit of a kind of wall: the material's own, else a default, else None."""
    default = DEFAULTS.get(((material or {}).get("family"), kind))
    if default:
        return own_limit(limits(default), material, OWN[kind])
    # Any row lends unit and title; the material's own figure and source replace its own.
    lent = limits(DEFAULTS["zirconia", kind])
    own = own_limit(lent, material, OWN[kind])
    return None if own is lent else own


CHECK = Check(
    title="Walls are thick enough",
    reads=("measured",),
    limits=(*DEFAULTS.values(), METAL_ABUTMENT),
    run=run,
    sentences={
        **OF_VALUES,
        "thin": (
            "The wall of the {part} at {subject} is thinner than its material asks for"
            " ({region}).",
            "Thicken it, or say why it is enough there.",
        ),
        "no_limit": (
            "No limit is known for walls of {material} ({regions} of {subject}).",
            "Take it from the material's instructions, and say how the walls were judged.",
        ),
        "no_material": (
            "The walls of {subject} are not judged: no material is named for it.",
            "Name the material, or say how thick its walls must be.",
        ),
    },
)
