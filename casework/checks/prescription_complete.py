"""The prescription decides everything the laboratory would otherwise have to guess.

What must be decided stands in one place, `orders/prescriptions/rules.py`, for the form and for
this check. Common practice, no source.
"""

from casework.checks import Check, from_objection
from orders.prescriptions.rules import missing_from
from orders.prescriptions.sentences import MISSING


def run(facts, limits):
    yield from map(from_objection, missing_from(facts["prescription"]))


CHECK = Check(
    title="The prescription is complete",
    reads=("prescription",),
    run=run,
    sentences=MISSING,
)
