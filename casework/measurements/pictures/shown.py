"""Which surfaces can pictures show, and which lengths in mm belong to their corners?"""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from casework.measure.bite import clearance_field
from casework.measure.channels import Part, legs_of
from casework.measure.fit import gap_field
from casework.measure.posts import find_post
from casework.measure.retainers import take_apart
from casework.measure.screws import channel_wall_field
from casework.measure.surfaces.poses import Pose
from casework.measure.walls import room_field, thickness_field, wall_field

SCANS = ("working_arch_scan_bodies", "working_arch", "opposing_arch")
RESTORATIONS = ("bridge", "crown")
PARTS = ("abutment", *RESTORATIONS)


@dataclass(frozen=True, eq=False)
class Shown:
    """A surface in the frame of the scans: its role and sites as its set tells them.

    `lengths_mm` holds fields (m,) by name: "wall", "thickness", "gap", "clearance", "room",
    "channel"; nan where not known.
    """

    name: str
    role: str
    sites: tuple[str, ...]
    vertices: np.ndarray
    faces: np.ndarray
    lengths_mm: Mapping[str, np.ndarray] = field(default_factory=dict)


def with_lengths(
    shown: Sequence[Shown], poses: Mapping[str, Pose], straight: Collection[str] = ()
) -> list[Shown]:
    """Return the same surfaces, parts with the lengths that can be computed on them.

    The wall is measured between intaglio and outer surface over abutments, else as local
    thickness; the gap to the abutments and the room over them need these, the clearance the
    opposing arch. Around the channel of a screw it is measured at sites where that is
    `straight`.
    """
    lengths = {one.name: _channels(one, poses, straight) for one in shown if one.role in PARTS}
    for one in shown:
        if one.role in RESTORATIONS:
            _add_lengths(lengths, one, shown, poses)
    return [
        replace(one, lengths_mm=_known(lengths[one.name])) if one.name in lengths else one
        for one in shown
    ]


def _known(lengths):
    return {name: mm for name, mm in lengths.items() if np.isfinite(mm).any()}


def _add_lengths(lengths, one, shown, poses):
    """Add those of a restoration, and those that it gives the abutments under it."""
    abutments = {
        site: other
        for other in shown
        if other.role == "abutment"
        for site in other.sites
        if site in one.sites
    }
    posts = {
        site: find_post(other.vertices, other.faces, poses.get(site))
        for site, other in abutments.items()
    }
    whole = take_apart(one.vertices, one.faces, posts) if posts else None
    if whole and any(retainer.is_found for retainer in whole.retainers.values()):
        lengths[one.name] |= {"wall": wall_field(whole), "gap": gap_field(whole)}
        for site, retainer in whole.retainers.items():
            if retainer.is_found:
                lengths[abutments[site].name]["room"] = room_field(whole, site)
    else:
        lengths[one.name]["thickness"] = thickness_field(one.vertices, one.faces)
    opposing = next((other for other in shown if other.role == "opposing_arch"), None)
    if opposing:
        lengths[one.name]["clearance"] = clearance_field(
            one.vertices, one.faces, opposing.vertices, opposing.faces
        )


def _channels(one, poses, straight):
    part = Part(one.name, one.vertices, one.faces)
    fields = [
        channel_wall_field(part, legs_of(poses[site], 0.0)[0])
        for site in one.sites
        if site in poses and site in straight
    ]
    return {"channel": np.fmin.reduce(fields)} if fields else {}
