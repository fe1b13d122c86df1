"""Do the scans of one jaw lie in one frame, do the jaws face each other, and does an earlier
scan show the same patient?"""

import numpy as np

from casework.measure.frames import METHOD, facing, same_frame, same_patient
from casework.measure.sets.places import working_scans
from casework.measure.sets.plan import Outcome, Planned

ALONG_MM = np.arange(0.0, 10.1, 1.0)  # of a scan body's axis: what stands there is left out


def plan(told):
    with_bodies = told.of_role("working_arch_scan_bodies")
    others = told.of_role("opposing_arch")[:1]
    pairs = [(file, with_bodies[0]) for file in told.of_role("working_arch") if with_bodies]
    pairs += [(file, with_bodies[0]) for file in with_bodies[1:]]
    for file, first in pairs:
        after = (("scan_bodies", first.name),) if told.forms else ()
        names = (first.name, file.name, *(one.name for one in others))
        yield Planned("frames", METHOD, file.name, names, _frame, {}, after)
    working = working_scans(told)
    if working and others:
        names = (working[0].name, others[0].name)
        yield Planned("frames", METHOD, "jaws", names, _facing)
    for file in told.of_role("earlier_scan"):
        yield Planned("earlier", METHOD, file.name, (file.of, file.name), _earlier)


def _frame(work, planned):
    first, other, *opposing = (work.mesh(name) for name in planned.files)
    others = dict(zip(planned.files[2:], opposing, strict=True))
    found = same_frame(
        first, other, subject=planned.subject,
        apart_from=bodies_mm(work, planned.files[0]), others=others,
    )  # fmt: skip
    return Outcome(found.results, {"kind": found.kind})


def _facing(work, planned):
    working, opposing = (work.mesh(name) for name in planned.files)
    return Outcome((facing(working, opposing, subject=planned.subject),))


def bodies_mm(work, scan):
    """Points along the axes of the scan bodies of a scan; None where none was found."""
    rows = work.handed.get(("scan_bodies", scan), {}).get("found", [])
    if not rows:
        return None
    return np.concatenate(
        [np.array(row["origin_mm"]) + ALONG_MM[:, None] * np.array(row["axis"]) for row in rows]
    )


def _earlier(work, planned):
    scan, earlier = (work.mesh(name) for name in planned.files)
    found = same_patient(scan, earlier, subject=planned.subject)
    return Outcome(found.results, {"kind": found.kind})
