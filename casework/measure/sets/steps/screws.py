"""Does the screw reach its seat, does the driver reach the screw, and what wall is left?"""

import numpy as np

from casework.measure.channels import Part
from casework.measure.screws import measure_screw
from casework.measure.sets.places import ARCH, SITES, frames_of, poses_of
from casework.measure.sets.plan import NotTold, Outcome, Planned, unmeasured

VERSION = "1"


def plan(told):
    for site in told.sites:
        parts = [
            file
            for file in told.of_role("abutment", "bridge", "crown")
            if site.site in file.sites
        ]
        if not parts:
            continue
        if not site.screw:
            yield NotTold(
                "screw", site.site,
                f"No retaining screw is named at ISO {site.site}: whether it reaches its seat"
                " is not measured.",
                about_design=True,
            )  # fmt: skip
            continue
        yield Planned(
            "screw", VERSION, site.site, tuple(file.name for file in parts), _run,
            {"screw": site.screw, "driver": site.driver, "channel_axis": site.channel_axis},
            (SITES, ARCH), about_design=True,
        )  # fmt: skip


def _run(work, planned):
    site, pose = planned.subject, poses_of(work).get(planned.subject)
    if pose is None:
        return unmeasured(planned, f"Where the implant at ISO {site} stands is not known.")
    parts = []
    for name in planned.files:
        mesh = work.mesh(name)
        parts.append(Part(name, mesh.vertices, mesh.faces))
    axis = planned.told["channel_axis"]
    found = measure_screw(
        site, pose, parts, planned.told["screw"], planned.told["driver"],
        None if axis is None else np.array(axis), frames_of(work).get(site),
    )  # fmt: skip
    return Outcome(tuple(found))
