"""Which surfaces can pictures show, and which lengths in mm belong to their corners?"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from casework.measure.bite import clearance_field
from casework.measure.fit import gap_field
from casework.measure.posts import find_post
from casework.measure.retainers import take_apart
from casework.measure.surfaces.poses import Pose
from casework.measure.walls import thickness_field, wall_field

SCANS = ("working_arch_scan_bodies", "working_arch", "opposing_arch")
RESTORATIONS = ("bridge", "crown")
PARTS = ("abutment", *RESTORATIONS)


@dataclass(frozen=True, eq=False)
class Shown:
    """A surface in the frame of the scans: its role and sites as its set tells them.

    `lengths_mm` holds fields (m,) by name: "wall", "thickness", "gap", "clearance";
    nan where not known.
    """

    name: str
    role: str
    sites: tuple[str, ...]
    vertices: np.ndarray
    faces: np.ndarray
    lengths_mm: Mapping[str, np.ndarray] = field(default_factory=dict)


def with_lengths(shown: Sequence[Shown], poses: Mapping[str, Pose]) -> list[Shown]:
    """Return the same surfaces, restorations with the lengths that can be computed on them.

    The wall is measured between intaglio and outer surface over abutments, else as local
    thickness; the gap to the abutments needs these, the clearance the opposing arch.
    """
    return [
        replace(one, lengths_mm=_lengths(one, shown, poses))
        if one.role in RESTORATIONS
        else one
        for one in shown
    ]


def _lengths(one, shown, poses):
    posts = {
        site: find_post(other.vertices, other.faces, poses.get(site))
        for other in shown
        if other.role == "abutment"
        for site in other.sites
        if site in one.sites
    }
    lengths = {}
    whole = take_apart(one.vertices, one.faces, posts) if posts else None
    if whole and any(retainer.is_found for retainer in whole.retainers.values()):
        lengths |= {"wall": wall_field(whole), "gap": gap_field(whole)}
    else:
        lengths["thickness"] = thickness_field(one.vertices, one.faces)
    opposing = next((other for other in shown if other.role == "opposing_arch"), None)
    if opposing:
        lengths["clearance"] = clearance_field(
            one.vertices, one.faces, opposing.vertices, opposing.faces
        )
    return {name: mm for name, mm in lengths.items() if np.isfinite(mm).any()}
