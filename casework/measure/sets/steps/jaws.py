"""How do the two jaws bite as they were scanned?"""

from casework.measure.bite import jaws_in_bite
from casework.measure.midlines import midline
from casework.measure.sets.places import ARCH, SITES, occlusal_of, working_scans
from casework.measure.sets.plan import NotTold, Outcome, Planned

VERSION = "2"


def plan(told):
    working, opposing = working_scans(told), told.of_role("opposing_arch")
    if not working:
        return
    if not opposing:
        yield NotTold(
            "jaws", "", "No opposing arch is there: how the jaws bite is not measured."
        )
        return
    files = (working[0].name, opposing[0].name)
    yield Planned(
        "jaws", VERSION, "jaws", files, _run, {"jaw": told.working_jaw}, (SITES, ARCH)
    )


def _run(work, planned):
    working, opposing = (work.mesh(name) for name in planned.files)
    occlusal, jaw, middle = occlusal_of(work), work.told.working_jaw, None
    if occlusal is not None and jaw:
        middle = midline(working.vertices, working.faces, occlusal, jaw == "lower")
    return Outcome(
        tuple(
            jaws_in_bite(
                working.vertices,
                working.faces,
                opposing.vertices,
                opposing.faces,
                planned.subject,
                middle.place_mm if middle else None,
                middle.rightward if middle else None,
            )
        )
    )
