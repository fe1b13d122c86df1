"""Which steps does a set give ground for? One file per step; this table is their order."""

from collections.abc import Iterator

from casework.measure.sets.plan import NotTold, Planned
from casework.measure.sets.steps import (
    abutments,
    arch,
    between,
    bite,
    bite_scans,
    changes,
    connectors,
    contacts,
    drivers,
    frames,
    jaws,
    look,
    paths,
    regions,
    restorations,
    room,
    scan,
    scan_bodies,
    screws,
    second_scan,
    sites,
)
from casework.measure.sets.told import CaseSet

# Each has `plan(told)`, which yields its steps, or what is missing for one. A step stands
# behind those whose results it reads.
STEPS = (
    scan,
    scan_bodies,
    frames,
    sites,
    between,
    second_scan,
    arch,
    room,
    regions,
    drivers,
    jaws,
    bite_scans,
    abutments,
    paths,
    restorations,
    contacts,
    connectors,
    bite,
    screws,
    look,
    changes,
)


def plan_of(told: CaseSet) -> Iterator[Planned | NotTold]:
    """Yield every step of a set, and every one that lacks something, in the order to run."""
    for step in STEPS:
        yield from step.plan(told)
