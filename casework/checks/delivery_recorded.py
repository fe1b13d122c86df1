"""The delivery says how the bite is, the baseline of the bone, and what the patient was given.

Baseline probing and radiograph at seating: J Oral Maxillofac Res 2016;7(3):e8 (table read). An
exposure needs its own justification; none is made for the record alone.
"""

from casework.checks import Check, ask, stop


def run(facts, limits):
    delivery = facts["delivery"]
    if delivery is None:
        yield stop("not_recorded")
        return
    if not delivery["bite_after"]:
        yield stop("no_bite")
    if delivery["baseline_number"] is None:
        yield ask("no_radiograph") if delivery["baseline_reason"] else stop("no_baseline")
    for site in facts["order"]["sites"]:
        levels = [
            row
            for row in facts["readings"]
            if row["site"] == site and row["quantity"] == "bone_level_mm"
        ]
        if not levels and delivery["baseline_number"] is not None:
            yield ask("no_bone_level", site)
    if not delivery["instructions_given"]:
        yield stop("no_instructions")
    if not delivery["implant_record_given"]:
        yield ask("no_implant_record")


CHECK = Check(
    title="The delivery is recorded",
    reads=("delivery", "order", "readings"),
    run=run,
    sentences={
        "not_recorded": ("No delivery is recorded.", "Record what was done."),
        "no_bite": ("The bite after delivery is not recorded.", "Check and record it."),
        "no_baseline": (
            "There is neither a baseline radiograph nor a reason for none.",
            "Choose the radiograph, or write why no exposure is justified.",
        ),
        "no_radiograph": (
            "There is no baseline radiograph; a reason is recorded.",
            "Confirm the reason: later bone levels are judged without a baseline.",
        ),
        "no_bone_level": (
            "No bone level is recorded at {subject}, though there is a baseline radiograph.",
            "Read it from the radiograph and record it, or say why it cannot be read.",
        ),
        "no_instructions": (
            "The patient was given no instructions.",
            "Give them, and record it.",
        ),
        "no_implant_record": (
            "The patient was given no implant record.",
            "Give it, or say why not.",
        ),
    },
)
