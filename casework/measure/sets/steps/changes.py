"""What differs: a scan from its raw one, a part from its version before, as made?"""

import numpy as np

from casework.measure.change import METHOD, compare, scan_body_moved
from casework.measure.sets.plan import Outcome, Planned
from casework.measure.sets.steps.frames import bodies_mm
from casework.measure.sets.steps.scan_bodies import shows_bodies
from casework.measure.surfaces.poses import Pose

SAME_BODY_MM = 2.0  # two finds nearer than this are one scan body, moved or not


def plan(told):
    for raw in told.of_role("raw_scan"):
        after = ()
        if told.forms and shows_bodies(told, raw):
            after = (("scan_bodies", raw.of), ("scan_bodies", raw.name))
        yield Planned("processed", METHOD, raw.of, (raw.name, raw.of), _processed, {}, after)
    for step, role in (("versions", "previous_version"), ("check_scan", "check_scan")):
        for file in told.of_role(role):
            names = (file.name, file.of) if step == "versions" else (file.of, file.name)
            yield Planned(step, METHOD, file.of, names, _compared, about_design=True)


def _processed(work, planned):
    raw, processed = (work.mesh(name) for name in planned.files)
    bodies = bodies_mm(work, planned.subject)
    near = {} if bodies is None else {f"scan bodies of {planned.subject}": bodies}
    found = compare(raw, processed, subject=planned.subject, near=near)
    motion = found.placement.rigid if found.placement is not None else None
    return Outcome((*found.results, *_moved_bodies(work, planned, motion)), _handed(found))


def _moved_bodies(work, planned, motion):
    before, after = (
        work.handed.get(("scan_bodies", name), {}).get("found", []) for name in planned.files
    )
    for place, row in enumerate(after, 1):
        origin = np.array(row["origin_mm"])
        same = [
            one
            for one in before
            if np.linalg.norm(np.array(one["origin_mm"]) - origin) < SAME_BODY_MM
        ]
        if same:
            doubt_um = 1000 * np.hypot(row["origin_95_mm"], same[0]["origin_95_mm"])
            yield from scan_body_moved(
                f"{planned.subject}, scan body {place}", _pose(same[0]), _pose(row), motion,
                doubt_um,
            )  # fmt: skip


def _pose(row):
    return Pose.of(row["origin_mm"], row["axis"], row["toward"])


def _compared(work, planned):
    before, after = (work.mesh(name) for name in planned.files)
    found = compare(before, after, subject=planned.subject, drops_islands=False)
    return Outcome(found.results, _handed(found))


def _handed(found):
    return {"kind": found.kind}
