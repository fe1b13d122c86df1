"""A dispatch for try-in goes to a case whose prescription wants one.

Common practice, no source.
"""

from casework.checks import Check, ask, stop


def run(facts, limits):
    prescription = facts["prescription"]
    if prescription is None:
        yield stop("no_prescription")
    elif not prescription["try_in_wanted"]:
        yield ask("not_wanted")


CHECK = Check(
    title="A try-in is wanted",
    reads=("prescription",),
    run=run,
    sentences={
        "no_prescription": (
            "There is no prescription that says whether a try-in is wanted.",
            "Find it before anything is dispatched.",
        ),
        "not_wanted": (
            "The prescription wants no try-in.",
            "Dispatch for delivery, or say why a try-in is needed.",
        ),
    },
)
