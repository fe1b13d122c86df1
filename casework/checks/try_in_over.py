"""Work goes straight to delivery only where no try-in was ordered, or one was passed.

A try-in of work that was designed or scanned anew since counts no more. Common practice, no
source.
"""

from casework.checks import Check, stop


def run(facts, limits):
    prescription, try_ins = facts["prescription"], facts["try_ins"]
    if prescription is None:
        yield stop("no_prescription")
    elif prescription["try_in_wanted"] and not try_ins["is_passed"]:
        yield stop("not_passed" if try_ins["rows"] else "not_tried_in")


CHECK = Check(
    title="No try-in is outstanding",
    reads=("prescription", "try_ins"),
    run=run,
    sentences={
        "no_prescription": (
            "There is no prescription that says whether a try-in is wanted.",
            "Find it before anything is dispatched.",
        ),
        "not_passed": (
            "The prescription wants a try-in, and none of the work as it is now was passed.",
            "Dispatch for try-in.",
        ),
        "not_tried_in": (
            "The prescription wants a try-in and none is on record.",
            "Dispatch for try-in.",
        ),
    },
)
