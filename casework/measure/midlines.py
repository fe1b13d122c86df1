"""Where is the middle of a dental arch, and which side of it is the patient's right?"""

from dataclasses import dataclass

import numpy as np
from scipy.optimize import minimize
from scipy.spatial import cKDTree

from casework.measure.surfaces.poses import Pose
from casework.measure.surfaces.sampling import spread

CROWN_MM = 5.0  # below the highest places stand crowns, but neither palate nor floor
CELL_MM = 1.0  # of the plan, each counts once
SAMPLE_MM = 1.0
LEAST_DEPTH_MM = 12.0  # an arch less deep has but one side, or the front alone
MATCH_MM = 0.5  # two sides of one arch agree so closely, cell for cell; the rest is gaps
COARSE_MM = 2.0  # taken first, so that the fine one finds its way
STARTS = 4  # best directions that are followed
LEAST_MATCH = 0.55  # share of the cells that find their like; fewer also match by chance
TURNS_DEG = range(-40, 41, 10)  # from the greatest extent of the arch to its width


@dataclass(frozen=True, eq=False)
class Midline:
    """The plane in which an arch is its own mirror image, as far as it is one.

    `place_mm` (3,) lies in it; `rightward` (3,), its unit normal, points to the patient's
    right; `residual_mm` is the median distance of one side from the mirrored other.
    """

    place_mm: np.ndarray
    rightward: np.ndarray
    residual_mm: float

    def offset_mm(self, place_mm: np.ndarray) -> float:
        """Return how far right of the midline a place lies; negative to the left."""
        return float((np.asarray(place_mm, float) - self.place_mm) @ self.rightward)


def midline(
    vertices: np.ndarray, faces: np.ndarray, occlusal: np.ndarray, is_lower: bool
) -> Midline | None:
    """Return the midline of a scanned arch; None where it shows no two sides that match,
    as where several teeth of one side are missing.

    Vertices (m, 3) in mm, faces (n, 3); `occlusal` (3,) points from the gums to the opposing
    jaw. The plan of the crowns is mirrored about a line in it, and the line is moved and turned
    until both agree best: one tooth that stands differently counts little.
    """
    points, _ = spread(vertices, faces, SAMPLE_MM)
    if len(points) < 100:
        return None
    flat = Pose.of(points.mean(axis=0), occlusal)
    local = flat.to_local(points)
    plan = _cells(local[local[:, 2] > np.quantile(local[:, 2], 0.98) - CROWN_MM, :2])
    if len(plan) < 30:
        return None
    centre = plan.mean(axis=0)
    tree = cKDTree(plan)
    angle, offset, residual, share = _mirror(plan, centre, tree)
    across = np.array([np.cos(angle), np.sin(angle)])
    front = np.array([-across[1], across[0]])
    side = (plan - centre) @ across - offset
    depth = np.ptp(plan @ front)
    if depth < LEAST_DEPTH_MM or share < LEAST_MATCH or min(-side.min(), side.max()) < 10:
        return None
    # The front is where the arch crosses its own middle.
    near = np.abs(side) < 5.0
    if (plan[near] @ front).mean() < (plan @ front).mean():
        front = -front
    place = flat.to_world(np.array([[*(centre + offset * across), 0.0]]))[0]
    rotation = flat.rigid.rotation
    ahead = rotation @ np.array([*front, 0.0])
    # Right, front and up are right-handed; the lower jaw bites upwards.
    up = flat.axis if is_lower else -flat.axis
    return Midline(place, np.cross(ahead, up), residual)


def _cells(plan):
    """The middle of the points of each cell."""
    _, at, counts = np.unique(
        np.floor(plan / CELL_MM).astype(np.int64), axis=0, return_inverse=True,
        return_counts=True,
    )  # fmt: skip
    return np.stack([np.bincount(at, plan[:, x]) / counts for x in range(2)], axis=1)


def _mirror(plan, centre, tree):
    """Angle and offset of the mirror line, median mismatch, share of cells that match."""

    def away(line):
        across = np.array([np.cos(line[0]), np.sin(line[0])])
        side = (plan - centre) @ across - line[1]
        return tree.query(
            plan - 2 * np.outer(side, across), distance_upper_bound=2 * COARSE_MM
        )[0]

    def mismatch(line, most=MATCH_MM):
        return np.minimum(away(line), most).mean()

    first = np.linalg.svd(plan - centre, full_matrices=False)[2]
    starts = [
        (np.arctan2(axis[1], axis[0]) + np.radians(turn), 0.0)
        for axis in first
        for turn in TURNS_DEG
    ]
    starts = sorted(starts, key=lambda line: mismatch(line, COARSE_MM))[:STARTS]
    fine = [
        _followed(_followed(line, mismatch, COARSE_MM), mismatch, MATCH_MM) for line in starts
    ]
    best = min(fine, key=mismatch)
    left = away(best)
    matched = left < MATCH_MM
    residual = float(np.median(left[matched])) if matched.any() else np.inf
    return *best, residual, float(matched.mean())


def _followed(line, mismatch, most):
    simplex = [line, (line[0] + 0.1, line[1]), (line[0], line[1] + 2.0)]
    return minimize(
        mismatch, line, (most,), method="Nelder-Mead",
        options={"xatol": 1e-4, "fatol": 1e-5, "initial_simplex": simplex},
    ).x  # fmt: skip
