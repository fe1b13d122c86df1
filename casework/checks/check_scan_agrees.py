"""A made part is the approved design, where a scan of the made part says so.

Nothing is said where no part was scanned. 0.05 mm of deviation are borne, a bound chosen here
(docs/limits.md): about what milling leaves.
"""

from casework.checks import (
    OF_STEPS,
    OF_VALUES,
    Check,
    at_most,
    lone_areas,
    not_known,
    of,
    steps_made,
    stop,
)

STEP = "check_scan"
WRONG = {"mirrored": "mirrored", "scaled": "scaled", "unlike": "another"}
WHATS = {"change_largest": "deviation from the design"}


def run(facts, limits):
    yield from steps_made(facts["measured"], STEP.__eq__, frozenset())
    mine = [row for row in facts["measured"]["results"] if row["step"] == STEP]
    measured, wrong = facts["measured"] | {"results": mine}, set()
    for row in of(measured, "change_agreement"):
        if code := WRONG.get(row["details"]["kind"]):
            wrong.add(row["details"]["sentence"])
            yield stop(code, row["subject"], because=row["details"]["sentence"])
    for row in of(measured, "change_largest"):
        what = WHATS["change_largest"]
        yield from at_most(row, limits("made_part_deviation"), "deviates", what=what)
    for quantity, code in (
        ("change_invented_area", "more"),
        ("change_missing_area", "not_shown"),
    ):
        yield from lone_areas(measured, quantity, code)
    said = [row for row in mine if row["because"] not in wrong]
    yield from not_known(measured | {"results": said}, **WHATS)


CHECK = Check(
    title="The made part is the approved design",
    reads=("measured",),
    limits=("made_part_deviation",),
    run=run,
    sentences={
        **OF_VALUES,
        **OF_STEPS,
        "mirrored": (
            "The made part ({subject}) is the mirror image of its design: {because}",
            "Make it again from the approved file.",
        ),
        "scaled": (
            "The made part ({subject}) has another size than its design: {because}",
            "Settle the unit of its scan, or make it again.",
        ),
        "another": (
            "The made part ({subject}) is not the approved design: {because}",
            "Name the part that was scanned, or make it again.",
        ),
        "deviates": (
            "The made part ({subject}) deviates from its design.",
            "Make it again, or say why it will fit.",
        ),
        "more": (
            "The scan of the made part ({subject}) shows surface that its design has not, up to"
            " {across} across.",
            "See that nothing was left standing on it.",
        ),
        "not_shown": (
            "The scan of the made part ({subject}) does not show all of it: what it lacks is up"
            " to {across} across.",
            "What it does not show was not compared.",
        ),
    },
)
