"""A design version has a mesh per made part, stock parts by number, and the designer's notes.

What is not in the files is named, not guessed. Common practice, no source.
"""

from casework.checks import Check, ask, note, part_words, stop

MADE = {"custom abutment", "bridge", "crown"}


def run(facts, limits):
    design = facts["design"]
    if design is None or design["state"] not in ("draft", "submitted"):
        yield stop("no_version")
        return
    if not any(part["kind"] in MADE for part in design["parts"]):
        yield stop("no_made_part")
    for part in design["parts"]:
        yield from _judge(part)
    if not design["notes"].strip():
        yield note("no_notes")


def _judge(part):
    subject = part_words(part)
    if part["kind"] not in MADE:
        if part["component"] is None:
            yield stop("no_number", subject)
        return
    if part["file_number"] is None:
        yield stop("no_mesh", subject)
    if part["material"] is None:
        yield ask("no_material", subject)


CHECK = Check(
    title="The design version is complete",
    reads=("design",),
    run=run,
    sentences={
        "no_version": (
            "There is no design version to submit.",
            "Start a version and add its parts.",
        ),
        "no_made_part": (
            "The version has no part that is made.",
            "Add the mesh of each abutment, bridge or crown.",
        ),
        "no_mesh": ("The {subject} has no mesh.", "Upload its mesh in the frame of the scan."),
        "no_number": (
            "The {subject} has no part number.",
            "Choose the stock part from the catalogue.",
        ),
        "no_material": (
            "No material product is named for the {subject}.",
            "Name the product, or say when it will be named.",
        ),
        "no_notes": (
            "The version has no notes.",
            "A word on what was decided helps the dentist to read it.",
        ),
    },
)
