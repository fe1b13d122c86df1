"""No question of either side is open when a design is submitted or approved.

A question nobody answered is decided by whoever goes on. Common practice, no source.
"""

from casework.checks import Check, ask


def run(facts, limits):
    for question in facts["questions"]:
        if question["is_open"]:
            yield ask("open", f"question {question['number']}", side=question["to_side"])


CHECK = Check(
    title="Questions are answered",
    reads=("questions",),
    run=run,
    sentences={
        "open": (
            "The {subject} to the {side} has no answer.",
            "Wait for the answer, or say why you go on without it.",
        ),
    },
)
