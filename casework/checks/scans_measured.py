"""What is to be known of the scans is measured, or it is said why it is not.

What could not be measured is not known and never counts as holding; somebody says how it was
looked at instead. Files that cannot be read are said by their own check. Common practice, no
source.
"""

from casework.checks import OF_STEPS, Check, steps_made

STEPS = frozenset(
    """
    scan_bodies sites between second_scan frames earlier processed regions arch jaws bite_scan
    room
    """.split()
)
WIDTH = ("room", "width")
NEEDED = frozenset({"scan_bodies", "jaws"})


def run(facts, limits):
    measured = facts["measured"]
    # Behind the last tooth no width can be had; the check of the room says so.
    steps = [row for row in measured["steps"] if (row["step"], row["subject"]) != WIDTH]
    yield from steps_made(measured | {"steps": steps}, STEPS.__contains__, NEEDED)


CHECK = Check(
    title="The scans are measured",
    reads=("measured",),
    run=run,
    sentences=OF_STEPS,
)
