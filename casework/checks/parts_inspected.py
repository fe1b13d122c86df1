"""Every made part passed a final inspection, by another than its maker where there are two.

Common practice, no source.
"""

from casework.checks import Check, ask, part_words, stop
from casework.checks.design_complete import MADE


def run(facts, limits):
    several = facts["members"]["laboratory_technician_count"] > 1
    for part in facts["parts"]:
        if part["kind"] not in MADE:
            continue
        subject = part_words(part)
        if part["inspected_on"] is None:
            yield stop("not_inspected", subject)
        elif part["inspected_by_id"] == part["made_by_id"]:
            if several:
                yield stop("by_its_maker", subject)
            else:
                yield ask("alone", subject)
        if part["disinfected_on"] is None:
            yield stop("not_disinfected", subject)


CHECK = Check(
    title="Parts are inspected and disinfected",
    reads=("parts", "members"),
    run=run,
    sentences={
        "not_inspected": ("The {subject} had no final inspection.", "Inspect and record it."),
        "by_its_maker": (
            "The {subject} was inspected by the person who made it.",
            "Have another technician or the coordinator inspect it.",
        ),
        "alone": (
            "The {subject} was inspected by its maker: the laboratory has one technician.",
            "Say how the inspection was made.",
        ),
        "not_disinfected": (
            "The {subject} is not recorded as disinfected.",
            "Disinfect it and record the day; local rules decide how.",
        ),
    },
)
