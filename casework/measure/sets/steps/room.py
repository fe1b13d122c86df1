"""How much room is over and beside each implant, and where does its axis come out?"""

from casework.measure.room import axis_exit, gap_width, room_height
from casework.measure.sets.order import RIGHT_TO_LEFT, jaw_of
from casework.measure.sets.places import ARCH, SITES, frames_of, poses_of, working_scans
from casework.measure.sets.plan import NotTold, Outcome, Planned

VERSION = "3"


def plan(told):
    if not told.sites:
        return
    opposing, working = told.of_role("opposing_arch")[:1], working_scans(told)[:1]
    for file in opposing:
        yield Planned("room", VERSION, "height", (file.name,), _heights, {}, (SITES, ARCH))
    if not opposing:
        yield NotTold(
            "room", "height", "No opposing arch is there: the height over the platforms is not"
            " measured.",
        )  # fmt: skip
    yield Planned("room", VERSION, "axes", (), _exits, {}, (SITES, ARCH))
    for file in working:
        yield Planned(
            "room", VERSION, "width", (file.name,), _widths,
            {"gaps": gaps_of(told), "has_bodies": file.role == "working_arch_scan_bodies"},
            (SITES, ARCH),
        )  # fmt: skip


def gaps_of(told):
    """The missing teeth gap by gap, each from the patient's right to left."""
    missing = {unit.tooth for unit in told.units if unit.stands_on != "tooth"}
    missing |= {site.site for site in told.sites}
    gaps = []
    for jaw, teeth in RIGHT_TO_LEFT.items():
        run = []
        for tooth in teeth:
            if tooth in missing and jaw_of(tooth) == jaw:
                run.append(tooth)
            elif run:
                gaps.append(run)
                run = []
        if run:
            gaps.append(run)
    return gaps


def _heights(work, planned):
    mesh = work.mesh(planned.files[0])
    return Outcome(
        tuple(
            one
            for site, pose in poses_of(work).items()
            for one in room_height(site, pose, mesh.vertices, mesh.faces)
        )
    )


def _exits(work, planned):
    frames = frames_of(work)
    return Outcome(
        tuple(axis_exit(site, pose, frames.get(site)) for site, pose in poses_of(work).items())
    )


def _widths(work, planned):
    mesh, poses, frames = work.mesh(planned.files[0]), poses_of(work), frames_of(work)
    found = []
    for gap in planned.told["gaps"]:
        found += gap_width(
            gap, poses, frames, mesh.vertices, mesh.faces, planned.told["has_bodies"]
        )
    return Outcome(tuple(found))
