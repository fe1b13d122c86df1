"""Along which line near a supposed axis do the planes of the walls pass as the form's do?

A point of a wall and its normal span a plane; how far it passes from the axis is the same all
along a flat side and all around a round one. So a line is moved and tilted until these
distances are those of the form, whatever its cross-section is; all of them may be wider or
narrower alike.
"""

from dataclasses import dataclass

import numpy as np

from casework.measure.jit import jit
from casework.measure.scan_bodies.forms import WALL_UP, Form
from casework.measure.scan_bodies.scans import Scan

ALONG_MM = 5.0  # to both sides of the wall's middle
CUTS_MM = (0.6, 0.4, 0.3, 0.2, 0.2, 0.15, 0.15)  # of a wall's plane from where it should be
TURN_BINS = 3  # of the table of walls between the turns tried
TURNS_KEPT = 16
PLACE_WAYS, PLACES_KEPT = 8, 4  # directions in which the axis may lie beside a line
NEARLY = 0.8  # a line with so much of the best one's worth may be the right one
WALL_MM = 0.12  # a point within this belongs to the wall
AMID_MM = 3.0  # along the line from the wall's middle; below, an inclined body's jaw may end
INSIDE_MM = 0.4  # nearer to the axis than the nearest wall by this: nothing is seen in there
WIDTH_HOLD_MM2 = 1.0  # of wall as wide as the form's, thought to be there beforehand
MISS_WEIGHT = 1.5  # what nearly fits a wall shows that it is another


@dataclass(frozen=True, eq=False)
class Line:
    """A supposed axis: a point on it amid the wall, its direction, mm2 of wall that fit it.

    `wider_mm` is how much farther from it the walls pass than those of the form; what nearly
    fits (`miss_mm2`) and what lies within the walls (`inside_mm2`) speaks against it.
    """

    point_mm: np.ndarray
    axis: np.ndarray
    wall_mm2: float
    miss_mm2: float
    inside_mm2: float
    wider_mm: float

    @property
    def worth_mm2(self) -> float:
        return self.wall_mm2 - MISS_WEIGHT * self.miss_mm2 - self.inside_mm2


def settled_lines(scan: Scan, point_mm, axis, form: Form) -> list[Line]:
    """Return the lines near a supposed axis that fit, the best first.

    Where few walls are seen, several may fit nearly as well: of walls that differ by direction
    at another turn, of others where one passes as far from the axis as another one should.
    """
    table = form.walls_mm
    mine = scan.near(point_mm, axis, np.nanmax(table) + 2 * CUTS_MM[0], ALONG_MM + 2.0)
    around = scan.vertices[mine], scan.normals[mine], scan.areas[mine]
    inner = max(form.supports_mm.min() - INSIDE_MM, 0.0)
    if len(table) > 1:
        # Seen from its other end the cross-section is its mirror image.
        ends, turns = (axis, -axis), range(0, len(table), TURN_BINS)
        begun = [(point_mm, up, turn) for up in ends for turn in turns]
        kept = TURNS_KEPT
    else:
        first = _settled(around, point_mm, axis, table, inner, 0)
        if first is None:
            return []
        begun = [(place, first.axis, 0) for place in _places(first, form.supports_mm)]
        kept = PLACES_KEPT
    if len(begun) > kept:
        worth = [_worth(around, *start, table, inner) for start in begun]
        begun = [begun[k] for k in np.argsort(-np.array(worth), kind="stable")[:kept]]
    settled = [_settled(around, *start[:2], table, inner, start[2]) for start in begun]
    settled = [line for line in settled if line is not None]
    settled.sort(key=lambda line: -line.worth_mm2)
    return [line for line in settled if line.worth_mm2 >= NEARLY * settled[0].worth_mm2]


def _places(line, supports_mm):
    """Where the axis is if a wall passes from it as far as another one should (k, 3)."""
    steps = np.unique(np.abs(np.subtract.outer(supports_mm, supports_mm)).round(3))
    ways = np.arange(PLACE_WAYS) * (2 * np.pi / PLACE_WAYS)
    frame = _frame(line.axis, _across(line.axis))
    across = np.column_stack([np.cos(ways), np.sin(ways)]) @ frame[:2]
    return [
        line.point_mm,
        *(line.point_mm + step * way for step in steps[1:] for way in across),
    ]


def _worth(around, point, axis, turn, table, inner):
    """mm2 of wall that fit roughly about a line not yet settled."""
    frame = _frame(axis, _across(axis))
    return _wall(*around, point, frame, table, inner, turn, CUTS_MM[0], CUTS_MM[1])[2][0]


def _across(axis):
    return np.cross(axis, np.eye(3)[np.argmin(np.abs(axis))])


def _settled(around, point, axis, table, inner, turn):
    """Move a line until the planes of the walls around pass from it as the form's do."""
    u, wider = _across(axis), 0.0
    for cut in CUTS_MM:
        frame = _frame(axis, u)
        u, v = frame[0], frame[1]
        curvature, pull, areas_mm2, middle = _wall(
            *around, point, frame, table + wider, inner, turn, cut, max(WALL_MM, cut / 2)
        )
        if areas_mm2[0] <= 0.0:
            return None
        # A small part of a round wall could as well be that of a wider one farther off.
        curvature[4, 4] += WIDTH_HOLD_MM2
        pull[4] -= wider * WIDTH_HOLD_MM2
        move = np.linalg.solve(curvature + 1e-6 * np.eye(5), pull)
        point = point + move[0] * u + move[1] * v + middle * axis
        axis = axis + move[2] * u + move[3] * v
        axis = axis / np.linalg.norm(axis)
        wider += float(move[4])
    return Line(point, axis, *(float(area) for area in areas_mm2), wider)


def _frame(axis, toward):
    u = toward - (toward @ axis) * axis
    u /= np.linalg.norm(u)
    return np.stack([u, np.cross(axis, u), axis])


@jit
def _wall(points, normals, areas, point, frame, table, inner, turn, cut, near):
    """Normal equations for moving a line by (u, v), tilting it, and widening all walls.

    `table` (bins, j) holds the distances from the axis of the walls that face a direction, nan
    where there is none, and is turned by so many bins. Also areas: of the wall within `near`,
    of what misses it, of what lies inside; and the wall's middle along the line.
    """
    curvature, pull = np.zeros((5, 5)), np.zeros(5)
    wall = miss = inside = middle = 0.0
    lever = np.empty(5)
    bins = len(table)
    for k in range(len(points)):
        x, y, z = points[k, 0] - point[0], points[k, 1] - point[1], points[k, 2] - point[2]
        w = frame[2, 0] * x + frame[2, 1] * y + frame[2, 2] * z
        if abs(w) > ALONG_MM:
            continue
        a = frame[0, 0] * x + frame[0, 1] * y + frame[0, 2] * z
        b = frame[1, 0] * x + frame[1, 1] * y + frame[1, 2] * z
        n = normals[k]
        up = frame[2, 0] * n[0] + frame[2, 1] * n[1] + frame[2, 2] * n[2]
        if abs(up) > WALL_UP:
            continue
        if a * a + b * b < inner * inner:
            if abs(w) < AMID_MM:
                inside += areas[k]
            continue
        lever[0] = frame[0, 0] * n[0] + frame[0, 1] * n[1] + frame[0, 2] * n[2]
        lever[1] = frame[1, 0] * n[0] + frame[1, 1] * n[1] + frame[1, 2] * n[2]
        lever[2], lever[3], lever[4] = w * lever[0], w * lever[1], 1.0
        passes = a * lever[0] + b * lever[1]
        at = 0
        if bins > 1:
            facing = np.arctan2(lever[1], lever[0]) / (2 * np.pi) * bins
            at = (np.int64(np.floor(facing + 0.5)) + turn) % bins
        off = np.nan
        for h in range(table.shape[1]):
            if not abs(passes - table[at, h]) > abs(off):
                off = passes - table[at, h]
        if abs(off) < near:
            wall += areas[k]
            middle += areas[k] * w
        elif passes > 0.0 and abs(off) < CUTS_MM[0]:
            miss += areas[k]
        if abs(off) < cut:
            share = 2.0 * off / cut
            weight = areas[k] / (1.0 + share * share) ** 2
            for i in range(5):
                pull[i] += weight * lever[i] * off
                for j in range(5):
                    curvature[i, j] += weight * lever[i] * lever[j]
    return curvature, pull, (wall, miss, inside), middle / wall if wall > 0.0 else 0.0
