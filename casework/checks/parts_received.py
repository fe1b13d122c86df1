"""The parts are in the house, counted.

Common practice, no source.
"""

from casework.checks import Check, part_words, stop

WORK = {"custom abutment", "bridge", "crown", "base"}


def run(facts, limits):
    work = [part for part in facts["parts"] if part["kind"] in WORK]
    if not work:
        yield stop("nothing")
    for part in work:
        if part["place"] not in ("at practice", "tried in", "delivered"):
            subject = part_words(part)
            yield stop("not_here", subject, place=part["place"])


CHECK = Check(
    title="The parts are in the house",
    reads=("parts",),
    run=run,
    sentences={
        "nothing": (
            "No part of the work is on record.",
            "The laboratory records what it makes.",
        ),
        "not_here": (
            "The {subject} is not here but recorded as: {place}.",
            "Receive and count it first, or correct where it is.",
        ),
    },
)
