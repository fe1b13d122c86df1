"""Which teeth exist is recorded, and was looked at after the implants were placed.

Neighbours, antagonists and the site itself are judged by it. Common practice, no source.
"""

from casework.checks import Check, ask, stop


def run(facts, limits):
    dentition = facts["dentition"]
    if dentition is None:
        yield stop("not_recorded")
        return
    if not dentition["present"]:
        yield ask("none_present")
    for implant in facts["implants"]:
        placed_on = implant["placed_on"]
        is_ordered = implant["site"] in facts["order"]["sites"]
        if is_ordered and placed_on and dentition["checked_on"] < placed_on:
            yield ask(
                "older_than_implant",
                implant["site"],
                day=dentition["checked_on"],
                placed_on=placed_on,
            )


CHECK = Check(
    title="The teeth are recorded",
    reads=("dentition", "implants", "order"),
    run=run,
    sentences={
        "not_recorded": (
            "Which teeth exist is not recorded.",
            "Record them once, in ranges.",
        ),
        "none_present": (
            "The record says that no tooth is present.",
            "Confirm that the patient has none, or correct the record.",
        ),
        "older_than_implant": (
            "The teeth were looked at on {day}, before the implant at {subject} was placed on"
            " {placed_on}.",
            "Look again and correct the day, or say why they are still the same.",
        ),
    },
)
