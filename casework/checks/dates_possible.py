"""The day the work is wanted lies ahead, is a working day, and leaves time to make it.

How many working days a laboratory needs is common practice, no source; the promise it gives on
accepting counts.
"""

from casework.checks import Check, against, ask, note, stop


def run(facts, limits):
    calendar = facts["calendar"]
    wanted = calendar["wanted_on"]
    if wanted is None:
        # That no day is named is what the prescription lacks.
        return
    if calendar["is_past"]:
        yield stop("past", day=wanted)
        return
    if not calendar["wanted_is_working_day"]:
        yield ask("closed", day=wanted)
    elif not calendar["knows_holidays"]:
        yield note("holidays_not_known", day=wanted)
    left, least = calendar["working_days_left"], limits("working_days_to_make")
    if left < least.value:
        is_rush = facts["prescription"] is not None and facts["prescription"]["is_rush"]
        say = note if is_rush else ask
        yield say("rush" if is_rush else "too_few_days", day=wanted, **against(left, least))


CHECK = Check(
    title="The day wanted is possible",
    reads=("calendar", "prescription"),
    limits=("working_days_to_make",),
    run=run,
    sentences={
        "past": (
            "The work is wanted on {day}, which is past.",
            "Choose a day still to come.",
        ),
        "closed": (
            "The work is wanted on {day}, a day on which the practice does not work.",
            "Choose a working day, or say who receives the work.",
        ),
        "holidays_not_known": (
            "Whether {day} is a public holiday at the practice is not known.",
            "Set country and region of the practice, and look at the calendar.",
        ),
        "too_few_days": (
            "Few working days are left until {day}.",
            "Choose a later day, mark the order as rush, or say what was agreed.",
        ),
        "rush": (
            "Few working days are left until {day}; the order is marked as rush.",
            "Whether the laboratory can keep the day shows when it accepts.",
        ),
    },
)
