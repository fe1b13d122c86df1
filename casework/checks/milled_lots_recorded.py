"""Every milled part says from which lot it was milled.

A lot alert finds a part only by its lot. Common practice, no source.
"""

from casework.checks import Check, part_words, stop
from casework.checks.design_complete import MADE


def run(facts, limits):
    milled = [part for part in facts["parts"] if part["kind"] in MADE]
    if not milled:
        yield stop("no_parts")
    for part in milled:
        subject = part_words(part)
        if part["material_lot"] is None:
            yield stop("no_lot", subject)
        if not part["milling_record"]:
            yield stop("no_milling_record", subject)


CHECK = Check(
    title="Lots of milled parts are recorded",
    reads=("parts",),
    run=run,
    sentences={
        "no_parts": (
            "No milled part is on record.",
            "Record each part with the lot it was milled from.",
        ),
        "no_lot": (
            "The {subject} has no material lot.",
            "Choose the disc or blank it came from.",
        ),
        "no_milling_record": (
            "The {subject} has no milling record.",
            "Write machine and run, as your own records name them.",
        ),
    },
)
