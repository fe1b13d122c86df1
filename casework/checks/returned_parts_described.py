"""Work that goes back says which parts travel, disinfected, by whom; and what is wrong.

Common practice, no source.
"""

from casework.checks import Check, note, stop


def run(facts, limits):
    parcel = facts["parcel"]
    if parcel is None:
        if facts["move"]["name"] == "return_to_redesign":
            yield note("nothing_travels")
        else:
            yield stop("no_parcel")
        return
    if not parcel["lines"]:
        yield stop("empty")
    if not parcel["courier"]:
        yield stop("no_courier")
    if not parcel["disinfected"]:
        yield stop("not_disinfected")


CHECK = Check(
    title="Returned parts are described",
    reads=("parcel", "move"),
    run=run,
    sentences={
        "nothing_travels": (
            "No part travels back with this.",
            "The laboratory designs anew; pack a parcel where it needs the parts.",
        ),
        "no_parcel": (
            "No parcel is packed.",
            "Say which parts go back, disinfected, and by whom.",
        ),
        "empty": ("The parcel has no part.", "Say which parts go back."),
        "no_courier": ("The parcel has no courier.", "Say who carries it."),
        "not_disinfected": (
            "The parts are not recorded as disinfected.",
            "What was in a mouth is cleaned and disinfected before it travels.",
        ),
    },
)
