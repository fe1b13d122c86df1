"""The version on the page is, bit for bit, the version that was submitted.

An approval is bound to a digest; what changed after submission was not offered for approval.
Common practice, no source.
"""

from casework.checks import Check, stop


def run(facts, limits):
    design = facts["design"]
    if design is None or design["state"] != "submitted":
        yield stop("not_submitted")
        return
    if design["digest"] != design["digest_now"]:
        yield stop("changed", f"version {design['number']}")


CHECK = Check(
    title="The design is as it was submitted",
    reads=("design",),
    run=run,
    sentences={
        "not_submitted": (
            "No design version is waiting for approval.",
            "The laboratory submits one.",
        ),
        "changed": (
            "Design {subject} was changed after it was submitted.",
            "Ask for changes; the laboratory submits a new version.",
        ),
    },
)
