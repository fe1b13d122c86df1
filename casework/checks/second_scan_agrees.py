"""A second, independent scan shows the implants that one piece joins at the same distances.

How well scan bodies fit one scan does not tell how that scan was stitched together; a second
one does. The bounds of 0.05 mm and 0.3° are chosen here (docs/limits.md).
"""

from casework.checks import OF_VALUES, Check, ask, at_most, not_known, note, of, size_of
from casework.checks.scan_true_over_span import pieces

WHATS = {
    "second_scan_distance": "difference of the distance in the second scan",
    "second_scan_angle": "difference of the angle in the second scan",
}
CODES = {"second_scan_distance": "distance", "second_scan_angle": "angle"}


def run(facts, limits):
    measured = facts["measured"]
    joined = [set(implants) for implants in pieces(measured)]
    for quantity, code in CODES.items():
        for row in of(measured, quantity):
            pair = set(row["subject"].split("-"))
            # Work that stands on each implant by itself bears more.
            say = ask if any(pair <= implants for implants in joined) else note
            what = WHATS[quantity]
            yield from at_most(size_of(row), limits(quantity), code, say=say, what=what)
    yield from not_known(measured, **WHATS)


CHECK = Check(
    title="A second scan agrees",
    reads=("measured",),
    limits=tuple(CODES),
    run=run,
    sentences={
        **OF_VALUES,
        "distance": (
            "The implants {subject} are at another distance in the second scan.",
            "Scan again, hold a rigid index against them, or say which scan is right, and why.",
        ),
        "angle": (
            "The implants {subject} are at another angle in the second scan.",
            "Scan again, hold a rigid index against them, or say which scan is right, and why.",
        ),
    },
)
