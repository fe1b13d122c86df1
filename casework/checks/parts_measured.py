"""What no model can be held against is measured on the design, or it is said why it is not.

What could not be measured is not known and never counts as holding; somebody says how it was
looked at instead. Files that cannot be read are said by their own check. Common practice, no
source.
"""

from casework.checks import OF_STEPS, Check, steps_made
from casework.checks.scans_measured import STEPS as OF_SCANS

EVERY_FILE = "scan"  # whether each surface is sound: said by the checks of files
NEEDED = frozenset({"restoration", "connectors", "bite", "screw"})


def run(facts, limits):
    yield from steps_made(facts["measured"], _is_of_parts, NEEDED)


def _is_of_parts(step):
    return step != EVERY_FILE and step not in OF_SCANS


CHECK = Check(
    title="The design is measured",
    reads=("measured",),
    run=run,
    sentences=OF_STEPS,
)
