"""Teeth that an earlier scan of the patient shows are the teeth of today's scan.

Nothing identifies a patient in a scan as its teeth do: where they do not agree, one of the two
scans may be another person's. The bound of 0.1 mm is chosen here (docs/limits.md); teeth move
and are filled in the years between.
"""

from casework.checks import OF_VALUES, Check, at_most, not_known, of, stop

LEFT = "shared_teeth_residual"
WRONG = {"mirrored": "mirrored", "scaled": "scaled", "unlike": "another"}
WHATS = {"earlier_scan_residual": "difference of the shared teeth"}


def run(facts, limits):
    measured = facts["measured"]
    wrong = set()
    for row in of(measured, "earlier_scan_share"):
        if code := WRONG.get(row["details"]["kind"]):
            wrong.add(row["subject"])
            yield stop(code, row["subject"], because=row["details"]["sentence"])
    said = [row for row in measured["results"] if row["subject"] not in wrong]
    measured = measured | {"results": said}
    for row in of(measured, "earlier_scan_residual"):
        what = WHATS["earlier_scan_residual"]
        yield from at_most(row, limits(LEFT), "differ", what=what)
    yield from not_known(measured, **WHATS)


CHECK = Check(
    title="Earlier scans show the same teeth",
    reads=("measured",),
    limits=(LEFT,),
    run=run,
    sentences={
        **OF_VALUES,
        "another": (
            "The {subject} does not agree with today's scan: {because}",
            "See whose scans the two are, and take out the wrong one.",
        ),
        "mirrored": (
            "The {subject} does not agree with today's scan: {because}",
            "Find out which of the two is mirrored, and export it again.",
        ),
        "scaled": (
            "The {subject} does not agree with today's scan: {because}",
            "Settle the units of both.",
        ),
        "differ": (
            "The teeth in {subject} are not quite those of today's scan.",
            "Say what changed since: treatment, movement, wear.",
        ),
    },
)
