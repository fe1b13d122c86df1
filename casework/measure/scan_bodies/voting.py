"""Along which lines may the axes of scan bodies run in a scan?

Every point of a wall, taken inward along its normal by the distance of the wall's plane from
the axis, comes to lie on the axis or beside it: these places are counted in small cells, and
where many from several sides fall together an axis is supposed. Its direction is the one to
which the normals around are at right angles.
"""

import numpy as np

from casework.measure.jit import jit
from casework.measure.scan_bodies.forms import WALL_UP, Form
from casework.measure.scan_bodies.scans import Scan, near_line, near_point
from casework.measure.scan_bodies.walling import ALONG_MM, Line, settled_lines

CELL_MM = 0.3
MOST_POINTS = 50_000  # to seek with; fits take all
TRIED = 32  # places tried at most for a form, the fullest first
MOST_CELLS = 6000  # the fullest, that are looked at
LEAST_VOTES_MM2 = 3.0  # of wall that meet around a cell
BALL_MM = 0.9  # around the fullest cell, for the first direction
LINE_MM = 0.7  # around the line, for the second
LEAST_WORTH_MM2, MOST_LINES = 4.0, 12
LEAST_BREADTH = 0.04  # of the normals' second direction: less is a plane
SAME_MM, SAME_COSINE = 0.25, 0.995  # lines that are one


def lines(scan: Scan, form: Form, near_mm=None, within_mm: float = 0.0) -> list[Line]:
    """Return supposed axes of walls whose planes pass from them as those of a form do.

    With `near_mm` (k, 3) only those that pass one of the points within so far.
    """
    supports_mm = form.supports_mm
    few = scan.thinned(MOST_POINTS)
    few = few.only(np.flatnonzero((few.normals != 0).any(axis=1)))
    normals = np.tile(few.normals, (len(supports_mm), 1))
    areas = np.tile(few.areas, len(supports_mm))
    inner = np.tile(few.vertices, (len(supports_mm), 1))
    inner -= np.repeat(supports_mm, len(few.vertices))[:, None] * normals
    if not len(inner):
        return []
    places = _full_cells(inner, normals, areas)
    found, tried = [], 0
    is_done = np.zeros(len(places), bool)
    for cell, place in enumerate(places):
        if is_done[cell]:
            continue
        line = _line(inner, normals, areas, place)
        is_done |= np.abs(places - place).max(axis=1) < BALL_MM
        if line and near_mm is not None and not is_passing(*line, near_mm, within_mm):
            continue
        tried += 1
        if tried > TRIED:
            break
        settled = settled_lines(scan, *line, form) if line else []
        for one in settled:
            is_done[near_line(places, one.point_mm, one.axis, BALL_MM, ALONG_MM)] = True
        found += settled
    return _apart([line for line in found if line.worth_mm2 > LEAST_WORTH_MM2])[:MOST_LINES]


def is_passing(point_mm, axis, near_mm, within_mm: float) -> bool:
    """Does a line pass any of points (k, 3) within so far?"""
    away = near_mm - point_mm
    across = away - np.outer(away @ axis, axis)
    return bool(np.linalg.norm(across, axis=1).min() < within_mm)


def _apart(found: list[Line]) -> list[Line]:
    """Return lines once each, the fullest first."""
    kept = []
    for one in sorted(found, key=lambda line: (-line.worth_mm2, *line.point_mm)):
        if not any(_is_same(one, other) for other in kept):
            kept.append(one)
    return kept


def _is_same(one, other):
    away = one.point_mm - other.point_mm
    along = away @ other.axis
    return (
        abs(one.axis @ other.axis) > SAME_COSINE
        and np.linalg.norm(away - along * other.axis) < SAME_MM
        and abs(along) < 2 * ALONG_MM
    )


def _full_cells(inner, normals, areas):
    """Middles of cells (k, 3) where much wall of several sides votes, the best first.

    A cell counts with its 26 neighbours. What counts is the area that votes, times how widely
    its normals spread: sheets and domes fill cells, too, but from one side.
    """
    low = inner.min(axis=0) - 2 * CELL_MM
    at = np.floor((inner - low) / CELL_MM).astype(np.int64)
    counts = at.max(axis=0) + 3
    number = (at[:, 0] * counts[1] + at[:, 1]) * counts[2] + at[:, 2]
    filled, cell = np.unique(number, return_inverse=True)
    x, y, z = normals.T
    held = [
        np.bincount(cell, areas * factor)
        for factor in (np.ones(len(x)), x * x, x * y, x * z, y * y, y * z, z * z)
    ]
    votes = _around(filled, np.stack(held, axis=1), counts)
    full = np.argsort(-votes[:, 0], kind="stable")[:MOST_CELLS]
    full = full[votes[full, 0] > LEAST_VOTES_MM2]
    spread = np.linalg.eigvalsh(votes[full][:, [[1, 2, 3], [2, 4, 5], [3, 5, 6]]])
    breadth = np.sqrt(np.maximum(spread[:, 1], 0.0) / np.maximum(spread[:, 2], 1e-12))
    full = full[np.argsort(-votes[full, 0] * breadth, kind="stable")]
    where = np.stack(np.unravel_index(filled[full], tuple(counts)), axis=1)
    return low + (where + 0.5) * CELL_MM


def _line(inner, normals, areas, place):
    mine = near_point(inner, place, BALL_MM)
    point, axis = place, None
    for _turn in range(3):
        if len(mine) < 12:
            return None
        weights = areas[mine]
        spread = np.einsum("ki,kj,k->ij", normals[mine], normals[mine], weights)
        values, vectors = np.linalg.eigh(spread)
        if values[1] < LEAST_BREADTH * values.sum():
            return None
        axis = vectors[:, 0]
        point = weights @ inner[mine] / weights.sum()
        mine = near_line(inner, point, axis, LINE_MM, ALONG_MM)
        mine = mine[np.abs(normals[mine] @ axis) < WALL_UP]
    return point, axis


@jit
def _around(filled, votes, counts):
    total = np.zeros_like(votes)
    for c in range(len(filled)):
        k = filled[c] % counts[2]
        j = (filled[c] // counts[2]) % counts[1]
        i = filled[c] // (counts[2] * counts[1])
        for di in range(-1, 2):
            for dj in range(-1, 2):
                low = ((i + di) * counts[1] + j + dj) * counts[2] + k - 1
                at = np.searchsorted(filled, low)
                while at < len(filled) and filled[at] <= low + 2:
                    total[c] += votes[at]
                    at += 1
    return total
