"""How the bite was taken is recorded: in which position, on what, with which support behind.

A bite taken without support behind the gap tips; what was seated decides how high it is. Common
practice, no source.
"""

from casework.checks import Check, ask, note, stop


def run(facts, limits):
    bite = facts["bite"]
    if bite is None:
        yield stop("not_recorded")
        return
    if not bite["position"]:
        yield stop("no_position")
    elif bite["position"] == "other" and not bite["note"].strip():
        yield ask("position_not_described")
    if not bite["seated"].strip():
        yield stop("seated_not_said")
    if bite["support_behind"] is None:
        yield ask("support_not_said")
    elif not bite["support_behind"]:
        yield note("no_support")
    for file in facts["files"]:
        is_bite = file["role"] == "bite_scan" and file["taken_on"] is not None
        if is_bite and file["taken_on"] != bite["taken_on"]:
            yield ask(
                "other_day",
                f"file {file['number']}",
                day=file["taken_on"],
                noted=bite["taken_on"],
            )


CHECK = Check(
    title="The bite is recorded",
    reads=("bite", "files"),
    run=run,
    sentences={
        "not_recorded": (
            "How the bite was taken is not recorded.",
            "Write the bite note: position, what was seated, support behind the gap.",
        ),
        "no_position": (
            "In which position the bite was taken is not recorded.",
            "Choose the position.",
        ),
        "position_not_described": (
            "The position of the bite is 'other', and no note describes it.",
            "Describe it in the bite note, or here.",
        ),
        "seated_not_said": (
            "What was seated while the bite was taken is not recorded.",
            "Say it: scan bodies, healing abutments, the provisional, or nothing.",
        ),
        "support_not_said": (
            "Whether teeth support the bite behind the gap is not recorded.",
            "Answer it in the bite note, or say why it does not matter here.",
        ),
        "no_support": (
            "No tooth supports the bite behind the gap.",
            "A bite without support behind is less sure: look at it again at the try-in.",
        ),
        "other_day": (
            "The bite scan ({subject}) is of {day}; the bite note is of {noted}.",
            "Correct the day that is wrong, or say why both belong together.",
        ),
    },
)
