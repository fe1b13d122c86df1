"""The dimensions of every part the work is built on are at hand.

A missing dimension is asked when the order is accepted, not when the design needs it; a
technician may enter a part from calliper readings, marked as measured by that party. Common
practice, no source.
"""

from casework.checks import Check, ask, note
from orders.catalogue.parts import CALLIPER, DIMENSIONS, dimension_words


def run(facts, limits):
    ordered = facts["order"]["sites"]
    for part in facts["components"]:
        if part["site"] not in ordered:
            continue
        what, site, number = part["what"], part["site"], part["part_number"]
        if number is None:
            yield ask("not_in_catalogue", site, what=what)
            continue
        known = part["dimensions"]
        missing = [name for name in DIMENSIONS.get(what, ()) if known.get(name) in (None, "")]
        if missing:
            words = ", ".join(dimension_words(name) for name in missing)
            yield ask("dimension_missing", site, what=what, part=number, missing=words)
        if part["source"] == CALLIPER:
            yield note("measured_here", site, what=what, part=number)
    known = {part["site"] for part in facts["components"] if part["what"] == "implant"}
    for site in ordered:
        if site not in known:
            yield ask("not_in_catalogue", site, what="implant")


CHECK = Check(
    title="Dimensions of the parts are at hand",
    reads=("components", "order"),
    run=run,
    sentences={
        "not_in_catalogue": (
            "The {what} at {subject} is no part of the catalogue, so its dimensions are not at"
            " hand.",
            "Enter the part with its dimensions, or say from where the bench takes them.",
        ),
        "dimension_missing": (
            "Of the {what} at {subject} ({part}) is not known: {missing}.",
            "Enter it from its instructions or by calliper, or say from where the bench takes"
            " it.",
        ),
        "measured_here": (
            "The dimensions of the {what} at {subject} ({part}) are calliper readings of a"
            " party.",
            "They are as good as that reading.",
        ),
    },
)
