"""A parcel says by which courier it goes, when it should arrive, and that it is disinfected.

What goes to the practice is disinfected before it travels; what comes from milling is finished
first. Common practice, no source.
"""

from casework.checks import Check, note, stop


def run(facts, limits):
    parcel, today = facts["parcel"], facts["today"]
    if parcel is None:
        yield stop("no_parcel")
        return
    if not parcel["lines"]:
        yield stop("empty")
    if not parcel["courier"]:
        yield stop("no_courier")
    if parcel["expected_on"] is None:
        yield stop("no_arrival")
    elif parcel["expected_on"] < today:
        yield stop("arrival_past", day=parcel["expected_on"])
    to_practice = facts["move"]["name"] != "return_milled"
    if to_practice and not parcel["disinfected"]:
        yield stop("not_disinfected")
    if not parcel["tracking"]:
        yield note("no_tracking")


CHECK = Check(
    title="The parcel is described",
    reads=("parcel", "today", "move"),
    run=run,
    sentences={
        "no_parcel": (
            "No parcel is packed for this.",
            "Pack one: which parts, by whom, expected when.",
        ),
        "empty": ("The parcel has no part.", "Say which parts travel."),
        "no_courier": ("The parcel has no courier.", "Say who carries it."),
        "no_arrival": ("When the parcel should arrive is not said.", "Enter the day."),
        "arrival_past": (
            "The parcel should have arrived on {day}, which is past.",
            "Correct the day.",
        ),
        "not_disinfected": (
            "The work is not recorded as disinfected.",
            "Disinfect it before it travels; local rules decide how.",
        ),
        "no_tracking": (
            "The parcel has no tracking number.",
            "Until it arrives nobody can say where it is.",
        ),
    },
)
