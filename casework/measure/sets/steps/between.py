"""How do the implants stand to each other?"""

from casework.measure.relations import Doubt, between_implants
from casework.measure.sets.places import SITES, poses_of
from casework.measure.sets.plan import Outcome, Planned

VERSION = "1"


def plan(told):
    if len(told.sites) > 1:
        yield Planned("between", VERSION, "", (), _run, {}, (SITES,))


def _run(work, planned):
    poses = poses_of(work)
    handed = work.handed[SITES].get("poses", {})
    doubts = {
        site: Doubt.of_95(row["origin_95_mm"], row["axis_95_deg"])
        for site, row in handed.items()
        if "origin_95_mm" in row
    }
    return Outcome(tuple(between_implants(poses, doubts)))
