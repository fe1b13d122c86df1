"""What is dispatched is what the approved design lists.

Common practice, no source.
"""

from casework.checks import Check, part_words, stop


def run(facts, limits):
    design, parcel = facts["design"], facts["parcel"]
    if parcel is None:
        # That none is packed is said by the check that describes the parcel.
        return
    if design is None:
        yield stop("no_design")
        return
    packed = {line["part_id"] for line in parcel["lines"]}
    if not packed:
        yield stop("nothing_packed")
        return
    there = [part for part in facts["parts"] if part["id"] in packed]
    for part in there:
        if part["place"] not in ("at laboratory", "on the way"):
            yield stop("not_at_bench", part_words(part), place=part["place"])
    for wanted in design["parts"]:
        if wanted["kind"] in ("custom abutment", "bridge", "crown", "base"):
            matches = [p for p in facts["parts"] if _same(p, wanted)]
            if not any(p["id"] in packed or _is_away(p) for p in matches):
                yield stop("missing", part_words(wanted))


def _same(part, wanted):
    return part["kind"] == wanted["kind"] and part["sites"] == wanted["sites"]


def _is_away(part):
    """Parts that stayed at the practice need not travel again."""
    return part["place"] in ("at practice", "tried in", "delivered")


CHECK = Check(
    title="Parts packed are those of the approved design",
    reads=("design", "parts", "parcel"),
    run=run,
    sentences={
        "no_design": (
            "There is no design to compare the parcel with.",
            "Have a design approved first.",
        ),
        "nothing_packed": ("The parcel has no part.", "Pack the parts that travel."),
        "missing": (
            "The design lists the {subject}; it is not packed.",
            "Pack it, or send it in a parcel of its own first.",
        ),
        "not_at_bench": (
            "The {subject} is packed but recorded as {place}.",
            "Correct where the part is, or take it out of the parcel.",
        ),
    },
)
