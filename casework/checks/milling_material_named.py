"""The milling centre is told the material product of every part it makes.

Common practice, no source.
"""

from casework.checks import Check, part_words, stop
from casework.checks.design_complete import MADE


def run(facts, limits):
    design = facts["design"]
    if design is None:
        yield stop("no_design")
        return
    for part in design["parts"]:
        if part["kind"] in MADE and part["material"] is None:
            yield stop("not_named", part_words(part))


CHECK = Check(
    title="Milling materials are named",
    reads=("design",),
    run=run,
    sentences={
        "no_design": (
            "There is no design, so nobody can tell what is to be milled.",
            "Have a design approved first.",
        ),
        "not_named": (
            "No material product is named for the {subject}.",
            "Reopen the design and name it; the version is then approved again.",
        ),
    },
)
