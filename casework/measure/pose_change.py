"""How far did a scan body move from one scan to another?"""

import numpy as np

from casework.measure.results import Measured, Quantity
from casework.measure.surfaces.poses import Pose, Rigid

BODY_SHIFT = Quantity(
    "scan_body_shift", "shift of a scan body", "µm", "its pose in both scans compared"
)
BODY_TURN = Quantity(
    "scan_body_turn", "turn of a scan body's axis", "deg", "its pose in both scans compared"
)
QUANTITIES = (BODY_SHIFT, BODY_TURN)


def scan_body_moved(
    site: str, before: Pose, after: Pose, motion: Rigid | None = None, doubt_um=None
) -> tuple[Measured, Measured]:
    """Return how far a scan body's origin and axis moved from one scan to the other.

    motion: how the whole scan moved from the first to the second, undone first; doubt_um: half
    the 95 % interval of the shift, from the poses.
    """
    old = before if motion is None else before.moved(motion)
    vector_um = 1000.0 * (after.origin_mm - old.origin_mm)
    sine = np.linalg.norm(np.cross(old.axis, after.axis))
    turn = float(np.degrees(np.arctan2(sine, old.axis @ after.axis)))
    shift = BODY_SHIFT.of(
        site, float(np.linalg.norm(vector_um)), after.origin_mm, doubt_um,
        vector_um=vector_um, along_axis_um=float(vector_um @ old.axis),
    )  # fmt: skip
    return shift, BODY_TURN.of(site, turn, after.origin_mm)
