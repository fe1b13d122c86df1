"""The scans of one jaw show the same teeth, and show them at the same place.

The scan without scan bodies gives the gum to work whose implants stand in the scan with them: a
shift between the two shifts every margin. The bounds of 0.05 mm, 0.1° and 0.1 mm are chosen
here (docs/limits.md). A mirror image, another unit or another jaw stops.
"""

from casework.checks import OF_VALUES, Check, ask, at_most, not_known, of, stop

SHIFT, TURN, LEFT = "frame_shift", "frame_turn", "shared_teeth_residual"
WRONG = {"mirrored": "mirrored", "scaled": "scaled", "unlike": "another"}
APART = {"running into each other": "jaws_collide", "in another frame": "jaws_apart"}
WHATS = {
    "frame_shift": "shift of the shared teeth",
    "frame_turn": "turn of the shared teeth",
    "frame_residual": "difference of the shared teeth",
}


def run(facts, limits):
    measured = facts["measured"]
    wrong = set()
    for row in of(measured, "frame_share"):
        if code := WRONG.get(row["details"]["kind"]):
            wrong.add(row["subject"])
            yield stop(code, row["subject"], because=row["details"]["sentence"])
        elif row["details"].get("is_turned_over"):
            yield stop("inside_out", row["subject"])
    shifted = set()
    for quantity, limit, code in (
        ("frame_shift", SHIFT, "shifted"),
        ("frame_turn", TURN, "turned"),
        ("frame_residual", LEFT, "differ"),
    ):
        for row in of(measured, quantity):
            # What was shifted by much was mostly turned as well: said once.
            if row["subject"] not in wrong and row["subject"] not in shifted:
                found = list(at_most(row, limits(limit), code, what=WHATS[quantity]))
                shifted |= {one.subject for one in found}
                yield from found
    for row in of(measured, "jaws_facing_share"):
        if code := APART.get(row["details"]["kind"]):
            yield ask(code, row["subject"], because=row["details"]["sentence"])
    said = [row for row in measured["results"] if row["subject"] not in wrong]
    yield from not_known(measured | {"results": said}, **WHATS)


CHECK = Check(
    title="The scans lie in one frame",
    reads=("measured",),
    limits=(SHIFT, TURN, LEFT),
    run=run,
    version=2,
    sentences={
        **OF_VALUES,
        "inside_out": (
            "The {subject} faces the other way than the scan with scan bodies: one of the two"
            " is turned inside out.",
            "Export that one again with its outside outward; until then nothing that asks on"
            " which side of it something lies can be trusted.",
        ),
        "mirrored": (
            "The {subject} is a mirror image of the scan with scan bodies: {because}",
            "Export it again without mirroring.",
        ),
        "scaled": (
            "The {subject} has another size than the scan with scan bodies: {because}",
            "Settle its unit on the file's page, or export it again.",
        ),
        "another": (
            "The {subject} does not show the jaw of the scan with scan bodies: {because}",
            "See whether it is of this patient and this jaw, and correct it.",
        ),
        "shifted": (
            "The {subject} does not lie where the scan with scan bodies does.",
            "Align it on the teeth that both show and export it again, or say why it stands.",
        ),
        "turned": (
            "The {subject} is turned against the scan with scan bodies.",
            "Align it on the teeth that both show and export it again, or say why it stands.",
        ),
        "differ": (
            "The teeth in {subject} are not quite those of the scan with scan bodies.",
            "Scan again, or say what changed between the two scans.",
        ),
        "jaws_collide": (
            "The scans of the two jaws ({subject}) lie in each other: {because}",
            "Align the jaws in their bite again.",
        ),
        "jaws_apart": (
            "The scans of the two jaws ({subject}) do not lie in one frame: {because}",
            "Align the jaws in their bite, or say what the laboratory aligns them with.",
        ),
    },
)
