"""Every made part names material, lot and certificate, and how it was milled or fired.

Regulation (EU) 2017/745, Annex XIII section 2 asks the maker of a custom-made device to keep
what allows its manufacture to be understood (text read in a web copy); lots per part are common
practice, no source.
"""

from casework.checks import Check, ask, part_words, stop
from casework.checks.design_complete import MADE


def run(facts, limits):
    made = [part for part in facts["parts"] if part["kind"] in MADE]
    if not made:
        yield stop("no_parts")
    for part in made:
        yield from _judge(part)
    for part in facts["parts"]:
        if part["kind"] == "base" and not part["lot"]:
            yield stop("no_stock_lot", part_words(part))


def _judge(part):
    subject = part_words(part)
    if part["material_lot"] is None:
        yield stop("no_lot", subject)
    elif not part["certificate"]:
        yield ask("no_certificate", subject)
    if not part["milling_record"] and not part["furnace_record"]:
        yield ask("no_record", subject)
    if part["made_by"] is None or part["made_on"] is None:
        yield stop("no_maker", subject)


CHECK = Check(
    title="Parts are traceable to lot and certificate",
    reads=("parts",),
    run=run,
    sentences={
        "no_parts": (
            "No made part is on record.",
            "Record what was made, of which lot and by whom.",
        ),
        "no_lot": ("The {subject} has no material lot.", "Choose the lot it was made of."),
        "no_stock_lot": ("The {subject} has no lot.", "Copy the lot from its package."),
        "no_certificate": (
            "The lot of the {subject} has no certificate.",
            "Enter the certificate's number, or say why there is none.",
        ),
        "no_record": (
            "The {subject} has neither a milling nor a furnace record.",
            "Enter it, or say why there is none.",
        ),
        "no_maker": (
            "Who made the {subject}, and on which day, is not recorded.",
            "Record maker and day.",
        ),
    },
)
