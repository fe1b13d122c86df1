"""What changed from the version before is known, and no part became its mirror image.

A mirrored part has the volume, area and box of the right one, and fits nothing. What changed is
noted for whoever approves, a shift in mm, what is gone or new as an area; whether it was wanted
is theirs to say. Common practice, no source.
"""

from casework.checks import Check, lone_areas, measured_figure, note, of, stop

STEP = "versions"
WRONG = {"mirrored": "mirrored", "scaled": "scaled"}
ALIKE = ("identical", "same surface")


def run(facts, limits):
    mine = [row for row in facts["measured"]["results"] if row["step"] == STEP]
    measured = {"results": mine}
    largest = {row["subject"]: row for row in of(measured, "change_largest")}
    for row in of(measured, "change_agreement"):
        kind, subject = row["details"]["kind"], row["subject"]
        words = {"because": row["details"]["sentence"]}
        if kind in WRONG:
            yield stop(WRONG[kind], subject, **words)
        elif kind == "unlike":
            yield note("another", subject, **words)
        elif kind not in ALIKE:
            most = largest.get(subject)
            is_shifted = most is not None and most["value"] != 0
            shown = measured_figure(most["value"], most["unit"]) if is_shifted else ""
            yield note("changed", subject, measured=shown, **words)
    yield from lone_areas(measured, "change_missing_area", "gone")
    yield from lone_areas(measured, "change_invented_area", "added")


CHECK = Check(
    title="Changes since the version before are known",
    reads=("measured",),
    run=run,
    sentences={
        "mirrored": (
            "The {subject} is the mirror image of the version before: {because}",
            "Export it again without mirroring.",
        ),
        "scaled": (
            "The {subject} has another size than in the version before: {because}",
            "Export it again in its own unit, or settle the unit on the file's page.",
        ),
        "another": (
            "The {subject} is another surface than in the version before: {because}",
            "Look at it as at a new design.",
        ),
        "changed": (
            "The {subject} was changed since the version before: {because}",
            "Look at the places that changed.",
        ),
        "gone": (
            "The {subject} lacks surface that the version before has, up to {across} across.",
            "Look at what is gone.",
        ),
        "added": (
            "The {subject} has surface that the version before does not have, up to {across}"
            " across.",
            "Look at what is new.",
        ),
    },
)
