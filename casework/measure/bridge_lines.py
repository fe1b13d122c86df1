"""Along which line does a bridge run, and where on it is it narrow?

Only the mesh is asked: teeth, or ellipsoids and boxes joined by bars, straight or curved. The
line is the simplest polynomial that runs through the middle of the surface around it
(T. Hastie and W. Stuetzle, Principal curves, Journal of the American Statistical Association
1989). Across this line the hull of the section tells units from joints: cavities and screw
channels do not make it smaller.
"""

from dataclasses import dataclass

import numpy as np
from scipy.spatial import ConvexHull, QhullError, cKDTree

from casework.measure.surfaces.sampling import spread
from casework.measure.surfaces.sections import Sections

CELL_MM = 1.0  # about the height of a thin joint
SAMPLE_MM = 0.4
STEP_MM = 0.25  # from section to section along the line
DEGREES = (1, 2, 4, 6)
WORTH = 0.75  # a line that bends more must lie so much nearer to the middle (mean square)
LENGTH_A_BEND_MM = 12.0  # a short bridge has no room for more than one bend
TIGHTEST_MM = 6.0  # radius of a bend; the front of a lower arch has about 15
ROUNDS = 6  # of gathering points along the line
REACH_MM = 6.0  # across the line; half of the widest tooth, so that no other unit is met
CLEAR = 0.2  # a narrowing is clear if the hull is smaller by this share than on both sides
LEVEL = 0.02  # hulls that differ by no more are equally narrow: along a bar, take its middle


@dataclass(frozen=True, eq=False)
class BridgeLine:
    """Points (k, 3) along the bridge, unit tangents (k, 3), hulls (k,) in mm2 across them."""

    points: np.ndarray
    tangents: np.ndarray
    hulls: np.ndarray

    @property
    def length_mm(self) -> float:
        return STEP_MM * (len(self.points) - 1)

    def narrowings(self) -> tuple[np.ndarray, np.ndarray]:
        """Return the places (indices) of clear narrowings and how clear each is, 0 to 1.

        A place is clear by the share by which the hull there is smaller than on both sides
        before anything narrower comes.
        """
        places, lows, highs = [], [], [0.0]
        low, first = None, 0
        for at, hull in enumerate(self.hulls):
            if low is None:
                highs[-1] = max(highs[-1], hull)
                if hull < (1 - CLEAR) * highs[-1]:
                    low, first = hull, at
            elif low < (1 - CLEAR) * hull:
                flat = np.flatnonzero(self.hulls[first:at] <= (1 + LEVEL) * low)
                places.append(first + int(round((flat[0] + flat[-1]) / 2)))
                lows.append(low)
                highs.append(hull)
                low = None
            else:
                low = min(low, hull)
        beside = np.minimum(highs[: len(lows)], highs[1 : len(lows) + 1])
        return np.array(places, int), 1 - np.array(lows) / np.maximum(beside, 1e-12)

    def nearest(self, place_mm: np.ndarray, axis: np.ndarray | None = None) -> int:
        """Return the index of the point nearest to a place, or to the line along an axis."""
        return int(np.argmin(self._away(place_mm, axis)))

    def distance_mm(self, place_mm: np.ndarray, axis: np.ndarray | None = None) -> float:
        """Return how far the line is from a place, or from the line along an axis."""
        return float(self._away(place_mm, axis).min())

    def _away(self, place_mm, axis):
        away = self.points - np.asarray(place_mm, float)
        if axis is not None:
            away = away - np.outer(away @ axis, axis)
        return np.linalg.norm(away, axis=1)

    @property
    def bend_mm(self) -> float:
        """How far the line lies off the straight one between its ends."""
        return float(np.linalg.norm(self._off(), axis=1).max())

    @property
    def bend(self) -> np.ndarray:
        """Unit direction from the straight line between the ends to the line."""
        mean = self._off().mean(axis=0)
        return mean / max(np.linalg.norm(mean), 1e-12)

    def _off(self):
        along = self.points[-1] - self.points[0]
        along = along / max(np.linalg.norm(along), 1e-12)
        away = self.points - self.points[0]
        return away - np.outer(away @ along, along)


def bridge_line(
    vertices: np.ndarray,
    faces: np.ndarray,
    cuts: Sections,
    occlusal: np.ndarray | None = None,
) -> BridgeLine | None:
    """Return the line of a bridge, None where there is no body to speak of.

    With `occlusal`, a unit direction, the line is sought across it: a short bridge may be
    higher than it is long.
    """
    points, _ = spread(vertices, faces, SAMPLE_MM)
    if len(points) < 12:
        return None
    cells = _cells(points)
    if occlusal is not None:
        cells = cells - np.outer((cells - cells.mean(axis=0)) @ occlusal, occlusal)
        cells = _cells(cells)
    line = _line(cells)
    if len(line) < 4:
        return None
    tangents = _tangents(line)
    hulls = np.array([_hull(cuts, at, n) for at, n in zip(line, tangents, strict=True)])
    return BridgeLine(line, tangents, hulls)


def _cells(points):
    """Means of the points in each cell of a grid."""
    number = np.floor((points - points.min(axis=0)) / CELL_MM).astype(np.int64)
    sides = number.max(axis=0) + 1
    _, at, counts = np.unique(
        (number[:, 0] * sides[1] + number[:, 1]) * sides[2] + number[:, 2],
        return_inverse=True,
        return_counts=True,
    )
    return np.stack([np.bincount(at, points[:, x]) / counts for x in range(3)], axis=1)


def _line(cells):
    """The simplest polynomial through the middle of the cells, from a straight line on."""
    centre = cells.mean(axis=0)
    along = (cells - centre) @ np.linalg.svd(cells - centre, full_matrices=False)[2][0]
    best, least = None, np.inf
    for degree in DEGREES:
        if best is not None and STEP_MM * len(best) < (degree - 1) * LENGTH_A_BEND_MM:
            break
        for _ in range(ROUNDS):
            line = _curve(cells, along, degree)
            if len(line) < 4:
                return best if best is not None else line
            along, away = _projected(cells, line)
        off = np.mean(away * away)
        if best is not None and (off > WORTH * least or _tightest(line) < TIGHTEST_MM):
            break
        best, least = line, off
    return best


def _curve(cells, along, degree):
    """The polynomial through cells of known place along it, at even steps."""
    middle, half = (along.max() + along.min()) / 2, max(np.ptp(along) / 2, 1e-9)
    powers = np.vander((along - middle) / half, degree + 1)
    shape = np.linalg.lstsq(powers, cells, rcond=None)[0]
    line = np.vander(np.linspace(-1, 1, 2000), degree + 1) @ shape
    length = np.concatenate([[0], np.cumsum(np.linalg.norm(np.diff(line, axis=0), axis=1))])
    at = np.arange(0.0, length[-1], STEP_MM)
    return np.stack([np.interp(at, length, line[:, x]) for x in range(3)], axis=1)


def _tangents(line):
    tangents = np.gradient(line, axis=0)
    return tangents / np.maximum(np.linalg.norm(tangents, axis=1), 1e-12)[:, None]


def _tightest(line):
    """The least radius of the line."""
    turn = np.linalg.norm(np.gradient(_tangents(line), axis=0), axis=1)
    return STEP_MM / max(turn.max(), 1e-12)


def _projected(cells, line):
    """Place of each cell along the line, of the nearest point and its tangent; how far off."""
    near = cKDTree(line).query(cells)[1]
    off = cells - line[near]
    step = np.einsum("ij,ij->i", off, _tangents(line)[near])
    away = np.sqrt(np.maximum(np.einsum("ij,ij->i", off, off) - step * step, 0.0))
    return STEP_MM * near + step, away


def _hull(cuts, at, normal):
    points = cuts.cut(at, normal).near(at, REACH_MM).points
    if len(points) < 3:
        return 0.0
    try:
        return float(ConvexHull(points).volume)  # of a plane figure, its area
    except QhullError:
        return 0.0
