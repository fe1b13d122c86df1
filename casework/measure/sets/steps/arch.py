"""Which way is mesial, outward and occlusal at each site?"""

from casework.measure.arch import arch_frame
from casework.measure.sets.places import ARCH, SITES, poses_of, working_scans
from casework.measure.sets.plan import Outcome, Planned

VERSION = "1"


def plan(told):
    scans = [file.name for file in working_scans(told)][:1]
    yield Planned(*ARCH[:1], VERSION, ARCH[1], tuple(scans), _run, {}, (SITES,))


def _run(work, planned):
    poses = poses_of(work)
    if not planned.files or not poses:
        return Outcome((), {"frames": {}})
    mesh = work.mesh(planned.files[0])
    frames = {}
    for site, pose in poses.items():
        frame = arch_frame(mesh.vertices, mesh.faces, site, pose, poses)
        if frame is not None:
            frames[site] = {
                "occlusal": frame.occlusal,
                "outward": frame.outward,
                "distal": frame.distal,
                "middle_mm": frame.middle_mm,
                "because": frame.because,
            }
    return Outcome((), {"frames": frames})
