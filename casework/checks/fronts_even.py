"""Front units are of usual proportion, match their counterparts and keep the midline.

Width to length 0.7 to 0.9, counterparts within 0.5 mm, midline within 2 mm: common practice, no
source. The eye decides, at the try-in; figures show where to look.
"""

from casework.checks import (
    OF_VALUES,
    Check,
    against_range,
    at_most,
    is_outside,
    note,
    of,
    size_of,
)

RATIO, EVEN, MIDDLE = "front_width_to_length", "front_symmetry", "midline_offset"
PAIRS = {"pair_width_difference": "width", "pair_length_difference": "length"}
LAST_FRONT = "3"  # the canine


def run(facts, limits):
    measured = facts["measured"]
    for row in of(measured, "width_to_length"):
        usual = limits(RATIO)
        if row["subject"][1:] <= LAST_FRONT and is_outside(row["value"], usual):
            yield note("proportion", row["subject"], **against_range(row["value"], usual))
    for quantity, side in PAIRS.items():
        for row in of(measured, quantity):
            if all(tooth[1:] <= LAST_FRONT for tooth in row["subject"].split("-")):
                what = f"difference in {side}"
                yield from at_most(size_of(row), limits(EVEN), "uneven", what=what, side=side)
    for row in of(measured, "midline_offset"):
        way = "right" if row["value"] > 0 else "left"
        what = "offset of the midline"
        yield from at_most(size_of(row), limits(MIDDLE), "off_middle", what=what, way=way)


CHECK = Check(
    title="Front units look even",
    reads=("measured",),
    limits=(RATIO, EVEN, MIDDLE),
    run=run,
    sentences={
        **OF_VALUES,
        "proportion": (
            "The width of the front unit at {subject} is unusual for its length.",
            "Look at it from the front.",
        ),
        "uneven": (
            "The front units {subject} differ in {side}.",
            "Even them out, or say that it is wanted so.",
        ),
        "off_middle": (
            "The midline of the work ({subject}) lies to the patient's {way} of the arch's.",
            "Correct it, or say that it is wanted so.",
        ),
    },
)
