"""The try-in answers what can only be seen in the mouth.

Seating, the one-screw test on splinted work, screw and driver, blanching, contacts, bite,
excursions, look, and the patient's word. Common practice, no source.
"""

from casework.checks import Check, ask, stop

WORDS = {
    "seated": "everything seats fully",
    "one_screw_test": "splinted work stays seated with one screw tightened",
    "screw_and_driver_clear": "screw and driver pass clear",
    "blanching_fades": "blanching of the gum fades within minutes",
    "contacts": "contacts to the neighbours are right",
    "bite": "the bite is right",
    "excursions": "excursions are free",
    "look": "the look is right",
    "patient_agrees": "the patient agrees",
}
# What stops a passed try-in, and what asks.
MUST_HOLD = ("seated", "one_screw_test", "screw_and_driver_clear")
SHOULD_HOLD = ("blanching_fades", "contacts", "bite", "excursions", "look", "patient_agrees")


def run(facts, limits):
    try_ins = facts["try_ins"]
    current = [row for row in try_ins["rows"] if row["number"] == try_ins["due_number"]]
    if not current:
        yield stop("not_recorded", number=try_ins["due_number"])
        return
    row = current[-1]
    for name in (*MUST_HOLD, *SHOULD_HOLD):
        words = WORDS[name]
        needless = name == "one_screw_test" and not facts["order"]["is_splinted"]
        if not row[name]:
            if not needless:
                yield stop("unanswered", words)
        elif row[name] == "no":
            yield stop("fails", words) if name in MUST_HOLD else ask("fails", words)
        elif row[name] == "not applicable" and name in MUST_HOLD and not needless:
            yield ask("not_applicable", words)
    if row["adjustments"] and row["needs_repolish"] is None:
        yield stop("repolish_unanswered")
    elif row["needs_repolish"]:
        yield ask("repolish")


CHECK = Check(
    title="The try-in is recorded and holds",
    reads=("try_ins", "order"),
    run=run,
    sentences={
        "not_recorded": (
            "Try-in {number} is not recorded.",
            "Record what was found in the mouth.",
        ),
        "unanswered": ("The try-in does not say whether {subject}.", "Answer it."),
        "fails": (
            "The try-in says no to this: {subject}.",
            "Return the work, or give the reason for going on.",
        ),
        "not_applicable": (
            "The try-in calls not applicable what had to be seen: {subject}.",
            "Say why it could not be judged.",
        ),
        "repolish_unanswered": (
            "The work was adjusted; whether it needs polishing again is not said.",
            "Answer it: a rough surface wears what bites on it.",
        ),
        "repolish": (
            "The adjusted surface needs polishing again.",
            "Return the work to finish, or say how it is polished here.",
        ),
    },
)
