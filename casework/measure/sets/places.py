"""Where do the implants stand, as steps hand it on to the steps behind them?"""

import numpy as np

from casework.measure.arch import ArchFrame
from casework.measure.sets.plan import Work
from casework.measure.sets.told import CaseSet, File
from casework.measure.surfaces.poses import Pose

SITES = ("sites", "")  # the step that says where every site is
ARCH = ("arch", "")  # the step that says which way is which there


def working_scans(told: CaseSet) -> tuple[File, ...]:
    """Return the scans of the working arch, those without scan bodies first."""
    return told.of_role("working_arch") + told.of_role("working_arch_scan_bodies")


def handed_pose(pose: Pose, origin: str, **doubts) -> dict:
    """Return a pose as plain values; `origin` says whether it was measured or told."""
    return {
        "origin_mm": pose.origin_mm.tolist(),
        "axis": pose.axis.tolist(),
        "toward": pose.toward.tolist(),
        "origin": origin,
        **doubts,
    }


def pose_of(handed: dict | None) -> Pose | None:
    """Return the pose of plain values, None where there is none."""
    if handed is None:
        return None
    return Pose.of(handed["origin_mm"], handed["axis"], handed.get("toward"))


def poses_of(work: Work) -> dict[str, Pose]:
    """Return the pose of every site that has one."""
    handed = work.handed.get(SITES, {}).get("poses", {})
    return {site: pose_of(row) for site, row in handed.items()}


def frames_of(work: Work) -> dict[str, ArchFrame]:
    """Return the directions at every site whose arch shows them."""
    handed = work.handed.get(ARCH, {}).get("frames", {})
    frames = {}
    for site, row in handed.items():
        vectors = {key: np.array(value) for key, value in row.items() if key != "because"}
        frames[site] = ArchFrame(site, because=row["because"], **vectors)
    return frames


def sides_of(work: Work, site: str) -> dict | None:
    """Return the direction of each side at a site by its word, None where not known."""
    frame = frames_of(work).get(site)
    return (frame.sides() or None) if frame is not None else None


def occlusal_of(work: Work) -> np.ndarray | None:
    """Return the direction from the gums to the opposing jaw, None where nothing tells it.

    By the plane of the teeth where the arch shows it, else the mean axis of the implants.
    """
    frames = frames_of(work).values()
    axes = [frame.occlusal for frame in frames] or [
        pose.axis for pose in poses_of(work).values()
    ]
    if not axes:
        return None
    mean = np.mean(axes, axis=0)
    length = np.linalg.norm(mean)
    return mean / length if length > 0.5 else None
