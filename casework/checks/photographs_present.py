"""Photographs show the laboratory the face and the teeth that the scans do not.

Common practice, no source.
"""

from casework.checks import Check, ask


def run(facts, limits):
    readable = [
        file
        for file in facts["files"]
        if file["role"] == "photograph" and file["state"] == "readable"
    ]
    if not readable:
        yield ask("none")


CHECK = Check(
    title="Photographs are there",
    reads=("files",),
    run=run,
    sentences={
        "none": (
            "There is no photograph.",
            "Send photographs, or say why the laboratory needs none.",
        ),
    },
)
