"""How wide and long are front units, and do right and left match?"""

from casework.measure.joints import bridge_of
from casework.measure.look import look, shape_of_crown, shapes_of_bridge
from casework.measure.midlines import midline
from casework.measure.sets.places import ARCH, SITES, frames_of, occlusal_of, poses_of
from casework.measure.sets.plan import Outcome, Planned, unmeasured

VERSION = "1"
FRONT = "123"


def plan(told):
    parts = [
        file
        for file in told.of_role("bridge", "crown")
        if any(site[1] in FRONT for site in file.sites)
    ]
    if not parts:
        return
    scans = told.of_role("working_arch")[:1]
    yield Planned(
        "look", VERSION, "fronts", tuple(file.name for file in (*parts, *scans)), _run,
        {"parts": [(file.name, file.sites) for file in parts],
         "scan": [file.name for file in scans], "jaw": told.working_jaw},
        (SITES, ARCH), about_design=True,
    )  # fmt: skip


def _run(work, planned):
    occlusal, frames, shapes = occlusal_of(work), frames_of(work), []
    if occlusal is None:
        return unmeasured(planned, "Which way the teeth point is not known: no implant is.")
    for name, sites in planned.told["parts"]:
        mesh = work.mesh(name)
        if len(sites) > 1:
            bridge = bridge_of(mesh.vertices, mesh.faces, sites, poses_of(work), occlusal)
            shapes += shapes_of_bridge(mesh.vertices, mesh.faces, bridge, sites, occlusal)
        elif sites[0] in frames:
            shapes.append(shape_of_crown(mesh.vertices, mesh.faces, frames[sites[0]]))
    shapes = [shape for shape in shapes if shape.site[1] in FRONT]
    if not shapes:
        return unmeasured(planned, "Where the front units stand is not known.")
    middle = gum = None
    for name in planned.told["scan"]:
        mesh = work.mesh(name)
        gum = (mesh.vertices, mesh.faces)
        is_lower = work.told.working_jaw == "lower"
        middle = midline(mesh.vertices, mesh.faces, occlusal, is_lower)
    return Outcome(tuple(look(shapes, occlusal, middle, gum)))
