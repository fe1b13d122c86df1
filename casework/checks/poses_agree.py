"""Where the design program says the implants stand is where the scan shows them.

The pose is measured from the scan alone; a design made on another pose fits nothing. The bounds
of 0.05 mm and 0.5° are chosen here (docs/limits.md).
"""

from casework.checks import OF_VALUES, Check, at_most, in_unit, not_known, of

SHIFT, TILT = "stated_pose_shift", "stated_pose_tilt"


def run(facts, limits):
    measured = facts["measured"]
    doubts = {
        row["subject"]: in_unit(row["value"], row["unit"], "mm")
        for row in of(measured, "implant_pose")
    }
    for row in of(measured, SHIFT):
        doubt = doubts.get(row["subject"], 0)
        what = "distance from the stated platform"
        yield from at_most(row, limits(SHIFT), "elsewhere", scan_doubt=doubt, what=what)
    for row in of(measured, TILT):
        yield from at_most(row, limits(TILT), "tilted", what="angle to the stated axis")
    yield from not_known(measured, stated_pose_shift="distance from the stated platform")


CHECK = Check(
    title="Stated and measured implant poses agree",
    reads=("measured",),
    limits=(SHIFT, TILT),
    run=run,
    version=2,
    sentences={
        **OF_VALUES,
        "elsewhere": (
            "The implant at {subject} stands elsewhere in the scan than the design says.",
            "Place the scan body again in the design program, or say which is right, and why.",
        ),
        "tilted": (
            "The implant at {subject} is tilted otherwise in the scan than the design says.",
            "Place the scan body again in the design program, or say which is right, and why.",
        ),
    },
)
