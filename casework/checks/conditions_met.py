"""What an acceptance was made subject to is met before the move that waits for it.

A laboratory may accept an order on condition; the condition names the move it must precede.
Common practice, no source.
"""

from casework.checks import Check, stop

# A condition before dispatch holds for both kinds of dispatch.
ALSO = {"dispatch_for_delivery": "dispatch_for_try_in"}


def run(facts, limits):
    move = facts["move"]["name"]
    for condition in facts["conditions"]:
        waits = condition["before_move"] in (move, ALSO.get(move))
        if waits and not condition["is_met"]:
            yield stop("not_met", text=condition["text"])


CHECK = Check(
    title="Conditions of the acceptance are met",
    reads=("conditions", "move"),
    run=run,
    sentences={
        "not_met": (
            "Accepted on a condition that is not met: {text}",
            "Say on the case page how it is met.",
        ),
    },
)
