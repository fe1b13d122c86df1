"""From which sides is a case looked at: where is up, where is the front of the mouth?"""

import numpy as np

from orders.teeth import is_front, side_of


def sides_of(*, preview, is_upper, frames, axes):
    """Return unit directions in the frame of the scans: "up", "front", "outward" or None.

    Up is toward the top of the person's head. `preview` of the scan that is worked on, or None;
    `frames` as the step "arch" hands them on, by site; `axes` of the implants. Where only one
    side of a jaw was scanned, the outer side of its teeth tells which way the front is.
    """
    occlusal = _occlusal(preview, frames, axes)
    up = -occlusal if is_upper else occlusal
    known = {site: row for site, row in frames.items() if not row["because"]}
    outward = _mean([row["outward"] for row in known.values()])
    front = None
    if preview is not None and preview.front is not None:
        front = np.array(preview.front)
    elif known:
        front = _front_by(known, up)
    front = _unit(_across(front if front is not None else np.eye(3)[abs(up).argmin()], up))
    return {
        "up": up.tolist(),
        "front": front.tolist(),
        "outward": None if outward is None else outward.tolist(),
        "is_upper": is_upper,
    }


def _occlusal(preview, frames, axes):
    by_teeth = _mean([row["occlusal"] for row in frames.values()])
    if by_teeth is not None:
        return by_teeth
    by_implants = _mean(axes)
    if by_implants is not None:
        return by_implants
    return _unit(np.array(preview.facing)) if preview else np.array([0.0, 0.0, 1.0])


def _front_by(frames, up):
    site, row = next(iter(frames.items()))
    outward = np.array(row["outward"])
    if is_front(site):
        return outward
    left = outward if side_of(site) == "left" else -outward
    return np.cross(left, up)


def _mean(vectors):
    return _unit(np.mean(vectors, axis=0)) if len(vectors) else None


def _across(vector, axis):
    return vector - (vector @ axis) * axis


def _unit(vector):
    return vector / max(np.linalg.norm(vector), 1e-12)
