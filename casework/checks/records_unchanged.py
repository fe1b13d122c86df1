"""The records the bench works by are those that were handed over.

A record amended after the order was accepted reaches the bench only if somebody says so.
Common practice, no source.
"""

from casework.checks import Check, ask, stop


def run(facts, limits):
    manifest = facts["manifest"]
    if manifest is None:
        yield stop("no_manifest")
        return
    for record in manifest["records"]:
        if record["sha256_now"] is None:
            yield ask("gone", record["kind"])
        elif record["sha256_now"] != record["sha256"]:
            yield ask("changed", record["kind"])


CHECK = Check(
    title="Records are as they were handed over",
    reads=("manifest",),
    run=run,
    sentences={
        "no_manifest": (
            "There is no accepted order with a manifest.",
            "The order must be sent and accepted before a design is submitted.",
        ),
        "gone": (
            "A record that was handed over is gone or was replaced: {subject}.",
            "Read what stands in its place, and say whether the design follows it.",
        ),
        "changed": (
            "A record was changed after it was handed over: {subject}.",
            "Read it as it stands now, and say whether the design follows it.",
        ),
    },
)
