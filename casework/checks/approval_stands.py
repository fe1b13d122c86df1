"""The version that is made is the version that was approved.

An approval binds to the digest of one version. A part changed afterwards is another version:
what would be milled from it was never approved. Common practice, no source.
"""

from casework.checks import Check, stop


def run(facts, limits):
    design = facts["design"]
    if design is None or design["signed_digest"] is None:
        yield stop("no_approval")
        return
    if design["digest_now"] != design["signed_digest"]:
        yield stop("changed", f"version {design['number']}")


CHECK = Check(
    title="The approved design version stands",
    reads=("design",),
    run=run,
    sentences={
        "no_approval": (
            "No approval of a design version is in force.",
            "Submit the design; the dentist approves it before anything is made.",
        ),
        "changed": (
            "Design {subject} is not what was approved any more.",
            "Reopen the design and have the version approved again.",
        ),
    },
)
