"""What no model can be held against is measured: screw, driver, walls, connectors, fit, bite.

This installation does not compute these figures, and a figure that is not computed is never
guessed: somebody says how the design was looked at instead. Common practice, no source.
"""

from casework.checks import Check, ask, stop

QUANTITIES = (
    "room for the screw and its driver",
    "walls and ceramic room",
    "connectors",
    "fit on the abutments",
    "clearance to the opposing arch",
)


def run(facts, limits):
    design = facts["design"]
    if design is None:
        yield stop("no_version")
        return
    yield ask("not_measured", f"version {design['number']}", quantities=", ".join(QUANTITIES))


CHECK = Check(
    title="The design is measured",
    reads=("design",),
    run=run,
    sentences={
        "no_version": ("There is no design version.", "Start a version and add its parts."),
        "not_measured": (
            "Not measured in {subject}: {quantities}.",
            "Say how each was looked at, and by whom.",
        ),
    },
)
