"""Does each restoration touch the teeth beside it, and how deep lies each margin?"""

from casework.measure.fit import Neighbours, contact
from casework.measure.margins import margin_depth
from casework.measure.sets.order import RIGHT_TO_LEFT, jaw_of
from casework.measure.sets.places import ARCH, SITES, frames_of
from casework.measure.sets.plan import Outcome, Planned
from casework.measure.sets.steps.abutments import post_at

VERSION = "3"


def plan(told):
    scan = told.of_role("working_arch")[:1]
    for file in told.of_role("bridge", "crown") if scan else ():
        if file.sites:
            yield Planned(
                "contacts", VERSION, file.name, (file.name, scan[0].name), _contacts,
                {"sites": file.sites}, (SITES, ARCH), about_design=True,
            )  # fmt: skip
    for file in told.of_role("abutment") if scan else ():
        for site in file.sites:
            yield Planned(
                "margin_depth", VERSION, site, (file.name, scan[0].name), _depth, {},
                (SITES,), about_design=True,
            )  # fmt: skip


def _contacts(work, planned):
    part, scan = (work.mesh(name) for name in planned.files)
    frames, found = frames_of(work), []
    neighbours = Neighbours(scan.vertices, scan.faces)
    for site, is_right in _ends(planned.told["sites"]):
        frame = frames.get(site)
        if frame is None or not frame.has_sides:
            continue
        side = "distal" if (site[0] in "14") == is_right else "mesial"
        toward = frame.distal if side == "distal" else -frame.distal
        found.append(
            contact(part.vertices, part.faces, neighbours, site, side, toward, frame.occlusal)
        )
    return Outcome(tuple(found))


def _ends(sites):
    """The units at the patient's right and left end, and whether it is the right one."""
    order = RIGHT_TO_LEFT[jaw_of(sites[0])]
    known = sorted((site for site in sites if site in order), key=order.index)
    return ((known[0], True), (known[-1], False)) if known else ()


def _depth(work, planned):
    site, scan = planned.subject, work.mesh(planned.files[1])
    return Outcome((margin_depth(post_at(work, site), site, scan.vertices, scan.faces),))
