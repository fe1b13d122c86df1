"""Where do the implants stand, as steps hand it on to the steps behind them?"""

import numpy as np

from casework.measure.sets.plan import Work
from casework.measure.surfaces.poses import Pose

SITES = ("sites", "")  # the step that says where every site is


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


def occlusal_of(work: Work) -> np.ndarray | None:
    """Return the direction from the gums to the opposing jaw: the mean axis of the implants."""
    axes = [pose.axis for pose in poses_of(work).values()]
    if not axes:
        return None
    mean = np.mean(axes, axis=0)
    length = np.linalg.norm(mean)
    return mean / length if length > 0.5 else None
