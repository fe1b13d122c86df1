"""How far is the design from the opposing jaw, unit by unit?"""

from functools import partial

from casework.measure.bite import clearance
from casework.measure.joints import bridge_of, units_of
from casework.measure.sets.places import ARCH, SITES, occlusal_of, poses_of
from casework.measure.sets.plan import NotTold, Outcome, Planned

VERSION = "2"


def plan(told):
    opposing = told.of_role("opposing_arch")
    for file in told.of_role("bridge", "crown"):
        if not opposing:
            yield NotTold(
                "bite", file.name,
                f"No opposing arch is there: the bite of {file.name} is not measured.",
                about_design=True,
            )  # fmt: skip
            continue
        yield Planned(
            "bite", VERSION, file.name, (file.name, opposing[0].name), _run,
            {"sites": file.sites}, (SITES, ARCH), about_design=True,
        )  # fmt: skip


def _run(work, planned):
    part, opposing = (work.mesh(name) for name in planned.files)
    sites, unit_of = planned.told["sites"], None
    if len(sites) > 1:
        bridge = bridge_of(part.vertices, part.faces, sites, poses_of(work), occlusal_of(work))
        if not bridge.because:
            unit_of = partial(units_of, bridge=bridge, sites=sites)
    subject = sites[0] if len(sites) == 1 else planned.subject
    return Outcome(
        tuple(
            clearance(
                part.vertices, part.faces, opposing.vertices, opposing.faces, subject,
                sites, unit_of,
            )
        )
    )  # fmt: skip
