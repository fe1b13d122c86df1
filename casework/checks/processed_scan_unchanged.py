"""A processed scan is its raw scan less scatter: nothing moved, nothing invented, nothing lost.

Near scan bodies 0.03 mm and elsewhere 0.1 mm of change are borne; more than 1 mm² that the raw
scan does not have was invented. All three are chosen here (docs/limits.md). What was cut off
away from the scan bodies is worth reading.
"""

from casework.checks import (
    OF_VALUES,
    Check,
    ask,
    at_most,
    lone_areas,
    measured_figure,
    not_known,
    of,
    stop,
)

STEP = "processed"
NEAR, FAR, INVENTED = "change_near_scan_body", "change_elsewhere", "change_invented"
SHIFT = "frame_shift"
# What the surface as a whole has become, and must not.
WRONG = {"mirrored": "mirrored", "scaled": "scaled", "unlike": "another"}
WHATS = {
    "change_motion": "shift as a whole",
    "change_largest": "largest change",
    "change_near": "change near the scan body",
    "change_invented_area": "area that the raw scan does not have",
    "scan_body_shift": "shift of the scan body",
}


def run(facts, limits):
    measured = facts["measured"]
    mine = [row for row in measured["results"] if row["step"] == STEP]
    measured = measured | {"results": mine}
    wrong = set()
    for row in of(measured, "change_agreement"):
        if code := WRONG.get(row["details"]["kind"]):
            wrong.add(row["details"]["sentence"])
            yield stop(code, row["subject"], because=row["details"]["sentence"])
    for quantity, limit, code in (
        ("change_motion", SHIFT, "moved"),
        ("change_largest", FAR, "changed"),
        ("change_near", NEAR, "changed_near"),
        ("change_invented_area", INVENTED, "invented"),
        ("scan_body_shift", NEAR, "body_moved"),
    ):
        for row in of(measured, quantity):
            yield from at_most(row, limits(limit), code, what=WHATS[quantity])
    for row in of(measured, "change_near"):
        yield from _lone(row)
    yield from lone_areas(measured, "change_missing_area", "cut_off")
    said = [row for row in mine if row["because"] not in wrong]
    yield from not_known(measured | {"results": said}, **WHATS)


def _lone(row):
    """What is missing or was invented near a place that matters."""
    for name, code in (
        ("missing_area_mm2", "lost_near"),
        ("invented_area_mm2", "invented_near"),
    ):
        if area := row["details"].get(name):
            yield ask(code, row["subject"], measured=measured_figure(area, "mm²"))


CHECK = Check(
    title="A processed scan is its raw scan",
    reads=("measured",),
    limits=(NEAR, FAR, INVENTED, SHIFT),
    run=run,
    sentences={
        **OF_VALUES,
        "mirrored": (
            "The {subject} is a mirror image: {because}",
            "Process the raw scan again, without mirroring.",
        ),
        "scaled": (
            "The {subject} has another size than its raw scan: {because}",
            "Export it again in the unit of the raw scan.",
        ),
        "another": (
            "The {subject} is not the surface of its raw scan: {because}",
            "Name the raw scan that it was made of, or process the right one.",
        ),
        "moved": (
            "The {subject} was moved as a whole against its raw scan.",
            "Export it again in the frame of the raw scan: the other scans lie there.",
        ),
        "changed": (
            "The surface of {subject} was moved against its raw scan.",
            "Process it again without changing surfaces, or say why this does not matter.",
        ),
        "changed_near": (
            "The surface was moved near a scan body ({subject}).",
            "Process it again without touching scan bodies, or say why this does not matter.",
        ),
        "invented": (
            "The {subject} shows surface that its raw scan does not have.",
            "Take out what was filled in, or say what it is made from.",
        ),
        "body_moved": (
            "The scan body at {subject} stands elsewhere than in the raw scan.",
            "Process it again without touching scan bodies, or say which scan is right.",
        ),
        "lost_near": (
            "Surface near a scan body was lost in processing ({subject}).",
            "Process it again and keep it, or say why this does not matter.",
        ),
        "invented_near": (
            "Surface near a scan body was filled in ({subject}).",
            "Take it out, or say what it is made from.",
        ),
        "cut_off": (
            "The {subject} lacks surface that its raw scan has, up to {across} across.",
            "See that nothing which matters was cut off.",
        ),
    },
)
