"""What no model can be held against is measured on the design, or it is said why it is not.

What could not be measured is not known and never counts as holding; somebody says how it was
looked at instead. Files that cannot be read are said by their own check. Common practice, no
source.
"""

from casework.checks import OF_STEPS, Check, steps_made
from casework.checks.check_scan_agrees import STEP as OF_MADE_PARTS
from casework.checks.scans_measured import STEPS as OF_SCANS

# Whether each surface is sound is said by the checks of files; made parts come later.
ELSEWHERE = OF_SCANS | {"scan", OF_MADE_PARTS}
NEEDED = frozenset({"restoration", "connectors", "bite", "screw"})


def run(facts, limits):
    yield from steps_made(facts["measured"], _is_of_parts, NEEDED)


def _is_of_parts(step):
    return step not in ELSEWHERE


CHECK = Check(
    title="The design is measured",
    reads=("measured",),
    run=run,
    sentences=OF_STEPS,
)
