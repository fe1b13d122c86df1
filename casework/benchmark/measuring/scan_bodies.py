"""How fast are scan bodies found and fitted, beside the iterative fit of a mesh library?"""

import numpy as np

from casework.benchmark.accuracy.scan_bodies import forms
from casework.benchmark.measuring import Comparison, best_of
from casework.benchmark.scanned_bodies import arch
from casework.measure.scan_bodies.finding import find_scan_bodies
from casework.measure.scan_bodies.laying import Known, settle
from casework.measure.scan_bodies.scans import prepared
from casework.measure.surfaces.poses import Pose

TRIANGLES = 570_000  # at scale 1
OFF_MM = 0.1  # from the truth, where both fits begin
STEPS = 60  # of the library at most; it ends earlier where a step changes little
EVERY = 4  # point is given to the library: with all of them it takes minutes


def compare(scale: float = 1.0) -> list[Comparison]:
    """Return finding without and with a click, and one fit beside trimesh's, all warm."""
    scan = arch(3, noise_um=20, coverage=0.6, triangles=int(TRIANGLES * scale), span=None)
    form, pose = {"flat": forms()["flat"]}, scan.bodies[0][1]
    click = pose.to_world(np.array([[0.0, 0.0, 6.0]]))
    note = f"{len(scan.faces)} triangles"
    everywhere = best_of(lambda: find_scan_bodies(scan.vertices, scan.faces, form))
    clicked = best_of(lambda: find_scan_bodies(scan.vertices, scan.faces, form, click))
    ours, ours_um, theirs, theirs_um, count = _fits(scan, form["flat"], pose)
    return [
        Comparison("scan bodies without a click", everywhere, None, note,
                   "no general-purpose way"),
        Comparison("one scan body after a click", clicked, None, note,
                   "no general-purpose way"),
        Comparison("fit of one scan body from 0.1 mm off", ours, theirs,
                   f"{count} points, {ours_um:.1f} µm off",
                   f"every {EVERY}th point, {theirs_um:.1f} µm off"),
    ]  # fmt: skip


def _fits(scan, form, pose):
    import trimesh

    known = Known.of("flat", form)
    ready = prepared(scan.vertices, scan.faces)
    middle = pose.origin_mm + 5.0 * pose.axis
    mine = ready.near(middle, pose.axis, form.reach_mm + 0.3, 3.2)
    around = ready.only(mine)
    start = Pose(pose.origin_mm + OFF_MM * pose.toward, pose.axis, pose.toward)
    ours = best_of(lambda: settle(around, start, known))
    mesh = trimesh.Trimesh(form.vertices, form.faces, process=False)
    points = start.to_local(around.vertices)[::EVERY]

    def fit():
        return trimesh.registration.icp(
            points, mesh, max_iterations=STEPS, scale=False, reflection=False
        )

    theirs = best_of(fit)
    back = np.linalg.inv(start.rigid.inverse().matrix) @ np.linalg.inv(fit()[0])
    settled = settle(around, start, known)
    return (
        ours, _off_um(settled.pose.origin_mm, pose), theirs, _off_um(back[:3, 3], pose),
        len(around.vertices),
    )  # fmt: skip


def _off_um(origin_mm, pose):
    return 1000 * float(np.linalg.norm(origin_mm - pose.origin_mm))
