"""Where does a post's shoulder end outwards, in each half plane around the post?

Seen in section and walked down from the top, a post shows its wall, which widens slowly, then a
shoulder or chamfer, which widens fast, then an edge beyond which it widens no more: the margin.
Without a shoulder the widest place takes its part (a knife edge).
"""

from dataclasses import dataclass

import numpy as np

from casework.measure.jit import jit
from casework.measure.surfaces.half_planes import Sections

STEP_MM = 0.02  # between the heights at which the outline is read
WINDOW = 5  # heights over which its slope is taken: 0.1 mm
STEEP = 0.5  # slope of a shoulder: 27 degrees and more from the axis
LEAST_WALL = 10  # heights: a wall of 0.2 mm ends the rounded top
LEAST_GAIN_MM = 0.2  # how much a shoulder widens the post; less is a groove or a step in it
SLIGHT_GAIN_MM = 0.1
LEVEL_MM = 0.005  # a width that stays within this stays the same
BESIDE = 15  # heights on both sides of the edge at which its two sides are seen: 0.3 mm
BOX_MM = 0.3  # the corner of the outline lies within this of where the outline turns
LEAST_TURN_DEG = 10.0  # below, the outline has no edge that could be named
SPREAD_SHARE = 0.3  # of the turn of the outline at the edge


@dataclass(frozen=True, eq=False)
class Ridge:
    """The edge in each of k half planes; nan where there is none.

    radius_mm, height_mm: the edge. foot_radius_mm, foot_height_mm: where the wall begins.
    top_mm: the highest point. spread_mm: how far the edge moves along the outline when it is
    read steeper or flatter by 0.3 of its turn, that is how rounded it is. is_shoulder: or a
    knife edge.
    """

    radius_mm: np.ndarray
    height_mm: np.ndarray
    foot_radius_mm: np.ndarray
    foot_height_mm: np.ndarray
    top_mm: np.ndarray
    spread_mm: np.ndarray
    is_shoulder: np.ndarray

    @property
    def is_found(self) -> np.ndarray:
        return np.isfinite(self.height_mm)


def ridge_of(sections: Sections, low_mm: float, high_mm: float) -> Ridge:
    """Return the Ridge of a surface between two heights, from its sections."""
    levels = int((high_mm - low_mm) / STEP_MM) + 2
    outline = sections.outline(low_mm, STEP_MM, levels)
    at = _walked(outline)
    top, foot, edge, is_shoulder = at[:, 0], at[:, 1], at[:, 2], at[:, 3] > 0
    count = sections.count
    radius, height, spread = (np.full(count, np.nan) for _ in range(3))
    for k in np.flatnonzero(edge >= 0):
        steep, flat = _sides(outline[k], foot[k], edge[k], is_shoulder[k])
        if steep - flat < LEAST_TURN_DEG:
            continue
        place = np.array([outline[k, edge[k]], low_mm + edge[k] * STEP_MM])
        radius[k], height[k], spread[k] = _corner(sections.of(k), place, steep, flat)
    rows = np.arange(count)
    has_foot = np.isfinite(height)
    foot_radius = np.where(has_foot, outline[rows, np.maximum(foot, 0)], np.nan)
    ridge = Ridge(
        radius,
        height,
        foot_radius,
        np.where(has_foot, low_mm + foot * STEP_MM, np.nan),
        np.where(top >= 0, low_mm + top * STEP_MM, np.nan),
        spread,
        is_shoulder & has_foot,
    )
    return _without_strays(ridge)


def _sides(row, foot, edge, is_shoulder):
    """Elevation of the surface above the edge and below it, in degrees."""
    above = foot if is_shoulder else min(edge + BESIDE, len(row) - 1)
    rise = max((above - edge) * STEP_MM, 1e-3)
    steep = np.degrees(np.arctan2(max(row[edge] - row[above], 0.0), rise))
    below = edge - BESIDE
    if below < 0 or row[below] < 0:
        return steep, -80.0  # the part ends here: its edge is that of its lower face
    return steep, -np.degrees(np.arctan2(row[edge] - row[below], BESIDE * STEP_MM))


def _corner(ends, place, steep_deg, flat_deg):
    """The outermost point of the outline halfway between its sides, and how far it spreads."""
    points = ends.reshape(-1, 2)
    near = points[np.abs(points - place).max(axis=1) <= BOX_MM]
    if not len(near):
        return np.nan, np.nan, np.nan
    middle, turn = (steep_deg + flat_deg) / 2, SPREAD_SHARE * (steep_deg - flat_deg)
    found = []
    for away in (0.0, -turn, turn):
        angle = np.radians(middle + away)
        found.append(near[np.argmax(near @ [np.cos(angle), np.sin(angle)])])
    spread = max(np.linalg.norm(found[0] - found[1]), np.linalg.norm(found[0] - found[2]))
    return found[0][0], found[0][1], spread


def _without_strays(ridge, width=9, far_mm=0.4):
    """Leave out edges that jump away from those of the half planes beside them."""
    count = len(ridge.height_mm)
    around = (np.arange(count)[:, None] + np.arange(-(width // 2), width // 2 + 1)) % count
    strays = np.zeros(count, bool)
    for values in (ridge.height_mm, ridge.radius_mm):
        known = np.where(np.isfinite(values[around]), values[around], np.inf)
        beside = np.sort(known, axis=1)
        middle = np.isfinite(known).sum(axis=1) // 2
        strays |= np.abs(values - beside[np.arange(count), middle]) > far_mm
    for values in (ridge.radius_mm, ridge.height_mm, ridge.spread_mm):
        values[strays] = np.nan
    return ridge


@jit
def _walked(outline):
    """Walk each outline down: places of top, foot of the wall, edge, and 1 for a shoulder."""
    count, levels = outline.shape
    found = np.full((count, 4), -1, np.int64)
    for k in range(count):
        i = levels - 1
        while i >= 0 and outline[k, i] < 0:
            i -= 1
        if i < 0:
            continue
        found[k, 0] = i
        found[k, 3] = 0
        i = _wall_start(outline, k, i)
        if i < WINDOW:
            continue
        widest = outline[k, i]
        best_gain = 0.0
        wall = i
        while i >= WINDOW and outline[k, i - WINDOW] >= 0:
            if outline[k, i - WINDOW] - outline[k, i] < STEEP * WINDOW * STEP_MM:
                widest = max(widest, outline[k, i])
                i -= 1
                continue
            j = i
            while j >= WINDOW and outline[k, j - WINDOW] >= 0:
                if outline[k, j - WINDOW] - outline[k, j] < STEEP * WINDOW * STEP_MM:
                    break
                j -= 1
            if j < WINDOW or outline[k, j - WINDOW] < 0:
                while j > 0 and outline[k, j - 1] >= 0 and outline[k, j - 1] > outline[k, j]:
                    j -= 1
            gain = outline[k, j] - widest
            if gain >= SLIGHT_GAIN_MM and gain > best_gain:
                best_gain = gain
                found[k, 1], found[k, 2], found[k, 3] = i, j, 1
                if gain >= LEAST_GAIN_MM:
                    break
            widest = max(widest, outline[k, j])
            i = j - 1
        if found[k, 3] == 0:
            # Of a wall that keeps its width the lowest place: its end.
            edge, j, widest = wall, wall, outline[k, wall]
            while j >= 0 and outline[k, j] >= 0:
                widest = max(widest, outline[k, j])
                if outline[k, j] >= widest - LEVEL_MM:
                    edge = j
                j -= 1
            found[k, 1], found[k, 2] = edge, edge
    return found


@jit
def _wall_start(outline, k, i):
    """The first place, downwards, below which the outline is a wall for a while."""
    run = 0
    while i >= WINDOW:
        below = outline[k, i - WINDOW]
        if below < 0:
            break
        run = run + 1 if below - outline[k, i] < STEEP * WINDOW * STEP_MM else 0
        i -= 1
        if run == LEAST_WALL:
            return i + LEAST_WALL
    return -1
