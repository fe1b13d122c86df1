"""The design has what was ordered, at the sites ordered, on parts that fit the implants.

A part for another connection or at another site is found in the mouth otherwise. Common
practice, no source.
"""

from casework.checks import Check, ask, part_words, stop
from orders.catalogue.rules import CERAMICS, METALS


def run(facts, limits):
    design, order, prescription = facts["design"], facts["order"], facts["prescription"]
    if design is None or prescription is None:
        yield stop("nothing_to_compare")
        return
    made = [part for part in design["parts"] if part["kind"] in ("bridge", "crown")]
    covered = {site for part in made for site in part["sites"]}
    for tooth in order["teeth"]:
        if tooth not in covered:
            yield stop("unit_missing", tooth)
    for tooth in sorted(covered - set(order["teeth"])):
        yield stop("unit_not_ordered", tooth)
    yield from _joints(made, order)
    yield from _abutments(design, order, prescription)
    yield from _stock(design, facts["implants"], prescription)
    yield from _materials(made, prescription)


def _joints(made, order):
    """What was ordered in one piece is designed in one, and nothing else is joined."""
    designed = {frozenset(part["sites"]) for part in made}
    for piece in order["pieces"]:
        whole = frozenset(piece)
        pieces = [teeth for teeth in designed if teeth & whole]
        if pieces and whole not in designed:
            yield stop("joined_otherwise", "-".join(dict.fromkeys((piece[0], piece[-1]))))


def _abutments(design, order, prescription):
    for site in order["sites"]:
        wanted = prescription["sites"].get(site, {})
        kinds = {part["kind"] for part in design["parts"] if site in part["sites"]}
        two_parts = wanted.get("build") == "abutment and restoration"
        carried = kinds & {"custom abutment", "base"}
        if two_parts and not carried:
            yield stop("abutment_missing", site)
        elif wanted.get("base_material") not in (None, "", "none") and not carried:
            yield ask("base_missing", site, material=wanted["base_material"])
        if "retaining screw" not in kinds:
            yield stop("screw_missing", site)


def _stock(design, implants, prescription):
    by_site = {implant["site"]: implant for implant in implants}
    for part in design["parts"]:
        if part["component"] is None:
            continue
        for site in part["sites"]:
            level = prescription["sites"].get(site, {}).get("level")
            yield from _fit(part, site, by_site.get(site), level)


def _fit(part, site, implant, level):
    """Platforms are compared where both are known; the connection must be."""
    name, on_abutment = part["component"], level == "intermediate abutment"
    if implant is None or not part["connection"] or not implant["connection"]:
        yield ask("fit_not_known", site, part=name)
        return
    platforms = {part["platform"], implant["platform"]} - {"", None}
    if part["connection"] == implant["connection"] and len(platforms) <= 1:
        return
    if on_abutment:
        yield ask("on_abutment", site, part=name)
    else:
        yield stop("does_not_fit", site, part=name)


def _materials(made, prescription):
    wanted = prescription["material_family"]
    for part in made:
        family = part["material_family"]
        if family and wanted and family != wanted:
            yield ask("other_material", part_words(part), family=family, wanted=wanted)
        elif family in CERAMICS | METALS and prescription["strength_class"] is not None:
            yield from _class(part, prescription["strength_class"])


def _class(part, wanted):
    if part["strength_class"] is None:
        yield ask("class_not_known", part_words(part), material=part["material"])
    elif part["strength_class"] < wanted:
        marks = {"measured": f"class {part['strength_class']}", "limit": f"class {wanted}"}
        yield stop("class_too_low", part_words(part), material=part["material"], **marks)


CHECK = Check(
    title="The design is what was ordered",
    reads=("design", "order", "prescription", "implants"),
    run=run,
    sentences={
        "nothing_to_compare": (
            "There is no design version or no prescription to compare.",
            "Both are needed before a design is submitted.",
        ),
        "unit_missing": (
            "Tooth {subject} was ordered and is in no part of the design.",
            "Add it, or name it among the teeth of its part.",
        ),
        "unit_not_ordered": (
            "The design has tooth {subject}, which was not ordered.",
            "Correct the teeth of the part, or ask the dentist to amend the order.",
        ),
        "abutment_missing": (
            "An abutment and a restoration were ordered at {subject}; the design has no"
            " abutment there.",
            "Add the abutment's mesh or the stock base by number.",
        ),
        "joined_otherwise": (
            "The units {subject} were ordered otherwise: as one piece, or apart from others.",
            "Join in the design what was ordered as one, or ask the dentist to amend it.",
        ),
        "base_missing": (
            "A base of {material} was ordered at {subject}; the design has none there.",
            "Add the stock base by number, or say why there is none.",
        ),
        "fit_not_known": (
            "Whether {part} fits the implant at {subject} is not known: a connection is missing"
            " in one of their records.",
            "Complete the record, or say how the fit is known.",
        ),
        "on_abutment": (
            "{part} at {subject} stands on an intermediate abutment; its fit cannot be judged"
            " from the implant's record.",
            "Name the abutment and say that the part is made for it.",
        ),
        "class_not_known": (
            "The class of {material}, of which the {subject} is, is not in its record.",
            "Take it from the certificate and enter it, or say which class it has.",
        ),
        "class_too_low": (
            "{material}, of which the {subject} is, is of a lower class than ordered.",
            "Choose a stronger material, or ask the dentist to amend the order.",
        ),
        "screw_missing": (
            "No retaining screw is named at {subject}.",
            "Add the screw by its part number: it is not drawn, but it must fit.",
        ),
        "does_not_fit": (
            "{part} does not fit the connection and platform of the implant at {subject}.",
            "Choose the part made for that implant.",
        ),
        "other_material": (
            "The {subject} is of {family}; {wanted} was ordered.",
            "Say why, or change the material.",
        ),
    },
)
