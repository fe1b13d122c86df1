"""Does the screw reach its seat, does the driver reach the screw, and what wall is left?"""

import numpy as np

from casework.measure.channels import Part
from casework.measure.screws import measure_screw
from casework.measure.sets.places import ARCH, SITES, frames_of, poses_of
from casework.measure.sets.plan import NotTold, Outcome, Planned, unmeasured
from casework.measure.surfaces.cylinder import free_radius

VERSION = "5"
CLOSED_MM = 0.05  # a restoration of less free radius over its abutment has no channel


def plan(told):
    for site in told.sites:
        # An abutment comes first.
        parts = [
            file
            for role in ("abutment", "bridge", "crown")
            for file in told.of_role(role)
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
            {"screw": site.screw, "driver": site.driver, "channel_axis": site.channel_axis,
             "retention": told.retention},
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
    is_abutment = {file.name for file in work.told.of_role("abutment")}.__contains__
    if planned.told["retention"] == "cement" and axis is None and is_abutment(parts[0].name):
        parts = [one for one in parts if is_abutment(one.name) or not _is_closed(one, pose)]
    found = measure_screw(
        site, pose, parts, planned.told["screw"], planned.told["driver"],
        None if axis is None else np.array(axis), frames_of(work).get(site),
    )  # fmt: skip
    return Outcome(tuple(found))


def _is_closed(part, pose):
    """Does a part close the way to the screw, so that it is set once that is tightened?"""
    free = free_radius(pose.to_local(part.vertices), part.faces, [(0.0, np.inf)])
    return free.radius_mm[0] < CLOSED_MM
