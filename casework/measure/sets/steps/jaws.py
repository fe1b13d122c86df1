"""How do the two jaws bite as they were scanned?"""

from casework.measure.bite import jaws_in_bite
from casework.measure.sets.places import ARCH, frames_of, working_scans
from casework.measure.sets.plan import NotTold, Outcome, Planned

VERSION = "1"


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
    yield Planned("jaws", VERSION, "jaws", files, _run, {}, (ARCH,))


def _run(work, planned):
    working, opposing = (work.mesh(name) for name in planned.files)
    middle, rightward = _midline(work)
    return Outcome(
        tuple(
            jaws_in_bite(
                working.vertices, working.faces, opposing.vertices, opposing.faces,
                planned.subject, middle, rightward,
            )
        )
    )  # fmt: skip


def _midline(work):
    """A point of the midline and the patient's right, where a front site's frame tells them.

    Behind the front teeth the midline is not on the frame's own line: the balance of a whole
    arch is then not known.
    """
    for site, frame in frames_of(work).items():
        if frame.has_sides and site[1] == "1":
            toward_right = frame.distal if site[0] in "14" else -frame.distal
            return frame.middle_mm, toward_right
    return None, None
