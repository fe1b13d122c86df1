"""Does the driver get past neighbours and opened opposing jaw?"""

import numpy as np

from casework.measure.drivers import Obstacle, driver_path
from casework.measure.sets.places import ARCH, SITES, frames_of, poses_of, working_scans
from casework.measure.sets.plan import NotTold, Outcome, Planned

VERSION = "1"


def plan(told):
    scans = (*working_scans(told)[:1], *told.of_role("opposing_arch")[:1])
    for site in told.sites if scans else ():
        lacking = "driver" if not site.driver else "" if told.opening_mm else "mouth opening"
        if lacking:
            yield NotTold(
                "room", f"driver {site.site}",
                f"No {lacking} is told at ISO {site.site}: whether the driver gets in is not"
                " measured.",
            )  # fmt: skip
            continue
        yield Planned(
            "room", VERSION, f"driver {site.site}", tuple(file.name for file in scans), _run,
            {"site": site.site, "screw": site.screw, "driver": site.driver,
             "channel_axis": site.channel_axis, "opening_mm": told.opening_mm},
            (SITES, ARCH),
        )  # fmt: skip


def _run(work, planned):
    told, poses = planned.told, poses_of(work)
    if told["site"] not in poses:
        return Outcome(())
    seen = {}
    for name in planned.files:
        mesh, file = work.mesh(name), work.told.file(name)
        seen[file.role] = Obstacle(name, mesh.vertices, mesh.faces)
    opposing = seen.pop("opposing_arch", None)
    axis = told["channel_axis"]
    found = driver_path(
        told["site"], poses, told["screw"], told["driver"], frames_of(work).get(told["site"]),
        next(iter(seen.values()), None), opposing, told["opening_mm"],
        has_bodies="working_arch_scan_bodies" in seen,
        channel_axis=None if axis is None else np.array(axis),
    )  # fmt: skip
    return Outcome((found,))
