"""Which part of an abutment is post, shoulder, emergence and bore, and where is its margin?

Everything is read from the surface itself: no end of the part, no axis of the file and no
reference frame is taken for granted. What the set of the case tells (the implant's pose, the
post's axis, the margin) is used instead where it is given, and said to be told.
"""

from dataclasses import dataclass, replace

import numpy as np

from casework.measure.post_reading import (
    BORE,
    KNIFE_SHARE,
    LEAST_RING,
    OTHER,
    REACH_MM,
    WALL,
    Body,
    around,
    first_axis,
    parts_of,
    parts_without_margin,
    read,
    upper_of,
)
from casework.measure.ridge import Ridge
from casework.measure.surfaces.nearest import Nearest
from casework.measure.surfaces.poses import Pose


@dataclass(frozen=True, eq=False)
class Post:
    """An abutment taken apart.

    nearest: its surface. part (n,) uint8: OTHER, EMERGENCE, SHOULDER, WALL, TOP or BORE of each
    face. pose: the post's axis, coronal, its origin in the middle of the margin. margin_mm
    (k, 3): the closed margin line, its last point joins the first. spread_mm: how far the
    margin may lie elsewhere on a rounded edge, 0 on a sharp one. because: why the post or the
    margin is not known, else empty. told: which of "margin", "axis", "coronal" the set gave;
    implant is its pose as told.
    """

    nearest: Nearest
    part: np.ndarray
    pose: Pose | None
    margin_mm: np.ndarray | None
    spread_mm: float
    is_knife_edge: bool
    because: str
    told: tuple[str, ...]
    ridge: Ridge | None = None
    implant: Pose | None = None

    @property
    def is_found(self) -> bool:
        return self.margin_mm is not None

    @property
    def has_wall(self) -> bool:
        return self.pose is not None and bool((self.part == WALL).any())

    @property
    def outline_mm(self) -> np.ndarray:
        """Points (k, 3) around the post: its margin, or its wall where that is not known."""
        if self.margin_mm is not None:
            return self.margin_mm
        return self.nearest.vertices[np.unique(self.nearest.faces[self.faces_of(WALL)])]

    @property
    def has_bore(self) -> bool:
        return bool((self.part == BORE).any())

    def faces_of(self, *parts: int) -> np.ndarray:
        """The numbers of the faces of some parts."""
        return np.flatnonzero(np.isin(self.part, parts))

    def source(self) -> dict:
        """Where the margin and the axis come from, in words."""
        return {
            "margin_is": "told by the set" if "margin" in self.told else "found from the mesh",
            "axis_is": "told by the set" if "axis" in self.told else "found from the mesh",
        }


def find_post(
    vertices: np.ndarray,
    faces: np.ndarray,
    implant: Pose | None = None,
    margin_mm: np.ndarray | None = None,
    axis: np.ndarray | None = None,
) -> Post:
    """Take the mesh of an abutment apart; see `Post`.

    `implant`: where the implant stands, for the direction toward the crown. `margin_mm` (k, 3),
    a closed line, and `axis` (3,), coronal, replace what would be found. On sharp edges the
    margin is exact; on rounded ones it lies in the middle of the rounding.
    """
    nearest = Nearest(vertices, faces, REACH_MM)
    told = tuple(
        name
        for name, given in (("margin", margin_mm), ("axis", axis), ("coronal", implant))
        if given is not None
    )
    body = Body.of(nearest)
    if body is None:
        return _nothing(nearest, told, "The abutment's mesh holds no surface.")
    towards = axis if axis is not None else None if implant is None else implant.axis
    if axis is None:
        found = first_axis(body, implant)
        if found is None:
            return _nothing(
                nearest, told, "No wall runs around one direction, so no post was found."
            )
        axis = found
    axis = np.asarray(axis, float) / np.linalg.norm(axis)
    signs = (1.0, -1.0) if towards is None else (1.0 if axis @ towards > 0 else -1.0,)
    tries = [read(body, sign * axis, "axis" in told) for sign in signs]
    best = upper_of(body, tries)
    if best is None:
        return _nothing(
            nearest, told, "Which end of the abutment is up cannot be told from its shape."
        )
    return replace(_told(nearest, body, best, told, margin_mm), implant=implant)


def _nothing(nearest, told, because):
    part = np.full(len(nearest.faces), OTHER, np.uint8)
    return Post(nearest, part, None, None, 0.0, False, because, told)


def _told(nearest, body, best, told, margin_mm):
    """The Post of the reading chosen."""
    because = ""
    if best.share < LEAST_RING and margin_mm is None:
        because = (
            f"An edge around the post shows in {100 * best.share:.0f} % of its sections only, "
            "so no closed margin line can be named."
        )
        part = parts_without_margin(body, best)
        return Post(nearest, part, best.pose, None, 0.0, False, because, told, best.ridge)
    ridge = best.ridge
    spread = float(np.nanmedian(ridge.spread_mm)) if ridge.is_found.any() else 0.0
    if margin_mm is None:
        line = _line(best.pose, ridge)
    else:
        line, spread = np.asarray(margin_mm, float), 0.0
        ridge = _ridge_of_line(best.pose.to_local(line), ridge)
    part = parts_of(body, best.pose, ridge)
    shift = (line.mean(axis=0) - best.pose.origin_mm) @ best.pose.axis * best.pose.axis
    pose = replace(best.pose, origin_mm=best.pose.origin_mm + shift)
    height = float(shift @ best.pose.axis)
    ridge = replace(
        ridge,
        height_mm=ridge.height_mm - height,
        foot_height_mm=ridge.foot_height_mm - height,
        top_mm=ridge.top_mm - height,
    )
    is_knife_edge = float(ridge.is_shoulder.mean()) < KNIFE_SHARE
    return Post(nearest, part, pose, line, spread, is_knife_edge, "", told, ridge)


def _line(pose, ridge):
    """The margin as a closed line, its gaps bridged."""
    count = len(ridge.height_mm)
    turn = 2 * np.pi * np.arange(count) / count
    radius, height = around(ridge.radius_mm, turn), around(ridge.height_mm, turn)
    local = np.column_stack([radius * np.cos(turn), radius * np.sin(turn), height])
    return pose.to_world(local)


def _ridge_of_line(local, ridge):
    """The ridge with a told line (k, 3), in the post's coordinates, for its edge."""
    count = len(ridge.height_mm)
    steps = np.linspace(0, 1, 20, endpoint=False)[:, None]
    ends = np.roll(local, -1, axis=0)
    dense = (local[:, None] * (1 - steps) + ends[:, None] * steps).reshape(-1, 3)
    at = np.mod(np.arctan2(dense[:, 1], dense[:, 0]), 2 * np.pi) * count / (2 * np.pi)
    order = np.argsort(at)
    planes = np.arange(count)
    radius = np.hypot(dense[:, 0], dense[:, 1])[order]
    edge = np.interp(planes, at[order], dense[order, 2], period=count)
    return replace(
        ridge,
        radius_mm=np.interp(planes, at[order], radius, period=count),
        height_mm=edge,
        foot_height_mm=np.where(np.isfinite(ridge.foot_height_mm), ridge.foot_height_mm, edge),
        spread_mm=np.zeros(count),
    )
