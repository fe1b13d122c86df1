"""By how much do the sides of what stands in the scan differ from those of the form?

The sides of a form are its pieces between sharp edges. Pose and the offset of each side are
fitted together: a body that is narrower, or whose flat lies deeper, shows it although the pose
alone would hide some of it. What pose and offsets share (a higher top alone is a higher body)
goes to the pose.
"""

from dataclasses import dataclass

import numpy as np
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import connected_components
from scipy.spatial.transform import Rotation

from casework.measure.scan_bodies.forms import SHARP_DEG, WALL_UP, Form
from casework.measure.scan_bodies.laying import EDGE_ZONE_MM, Laid, seen_at, spreads_of
from casework.measure.surfaces.poses import Pose, Rigid
from casework.measure.surfaces.shading import smooth_normals

NEAR_MM = 0.5  # points farther off are no part of the side
OFFSET_MM = 0.3  # how much a side is thought to differ, before anything is known
LEAST_MM2 = 2.5  # of a side that must be seen
PASSES, ROUNDS = 3, 8
FEW_POINTS = 5000
LEVEL = 0.9  # a top looks along the axis
ROUND_DEG = 60.0  # a wall that turns more than this is round
DEVIATES_MM = 0.035  # twice what rounding and tolerance of making leave
SURE_SPREADS = 4.0


@dataclass(frozen=True)
class Side:
    """One side of a form: what it is, its offset outward, the standard deviation of that."""

    kind: str  # "wall", "flat", "top", "ledge", "slope"
    offset_mm: float
    spread_mm: float
    radius_mm: float  # of a round wall; 0 otherwise
    seen_mm2: float

    @property
    def deviates(self) -> bool:
        return abs(self.offset_mm) > max(DEVIATES_MM, SURE_SPREADS * self.spread_mm)

    @property
    def sentence(self) -> str:
        way = "farther out" if self.offset_mm > 0 else "farther in"
        if self.kind == "wall":
            wide = 2 * self.radius_mm
            return (
                f"its round wall is {wide + 2 * self.offset_mm:.2f} mm wide where the form's is"
                f" {wide:.2f} mm"
            )
        if self.kind in ("top", "ledge"):
            way = "higher" if self.offset_mm > 0 else "lower"
        return f"its {self.kind} lies {abs(self.offset_mm):.2f} mm {way} than the form's"


def sides_of(form: Form) -> np.ndarray:
    """Return the number of the side of each face (n,)."""
    across = form.nearest.across
    row, k = np.nonzero(across >= 0)
    other = across[row, k]
    cosine = np.einsum("ij,ij->i", form.normals[row], form.normals[other])
    joined = cosine > np.cos(np.radians(SHARP_DEG))
    links = coo_matrix(
        (np.ones(joined.sum(), np.int8), (row[joined], other[joined])),
        shape=(len(form.faces),) * 2,
    )
    return connected_components(links, directed=False)[1]


@dataclass(frozen=True)
class Deviations:
    """The sides seen, and how far patches still lie off on average once they have moved."""

    sides: tuple[Side, ...] = ()
    misfit_mm: float = np.inf


def deviations(laid: Laid) -> Deviations:
    """Return how the sides seen differ from the form's, by a fit of all at once."""
    around, pose, form = laid.around.thinned(FEW_POINTS), laid.pose, laid.known.form
    side_of_face = sides_of(form)
    told = Deviations()
    for _turn in range(PASSES):
        told, motion = _deviations(seen_at(around, pose, form), form, side_of_face)
        moved = pose.rigid.after(motion)
        pose = Pose(moved.shift_mm, moved.rotation[:, 2], moved.rotation[:, 0])
    return told


def _deviations(seen, form, side_of_face):
    """The deviations at a pose, and the motion of the form that brings it where it fits."""
    clear = form.edges.query(seen.points, distance_upper_bound=EDGE_ZONE_MM)[0] == np.inf
    mine = seen.is_free & seen.agrees & clear & (np.abs(seen.off_mm) < NEAR_MM)
    side = side_of_face[seen.face[mine]]
    seen_mm2 = np.bincount(side, seen.areas[mine], minlength=side_of_face.max() + 1)
    kept = np.flatnonzero(seen_mm2 > LEAST_MM2)
    if not len(kept):
        return Deviations(), Rigid.none()
    is_kept = np.isin(side, kept)
    chosen = np.flatnonzero(mine)[is_kept]
    columns = np.searchsorted(kept, side[is_kept])
    solved, spreads, left, middle = _fitted(form, seen, chosen, columns, len(kept))
    sides = tuple(
        _side(form, side_of_face == number, offset, spread, seen_mm2[number])
        for number, offset, spread in zip(kept, solved[6:], spreads[6:], strict=True)
    )
    turn = Rotation.from_rotvec(solved[:3]).as_matrix()
    motion = Rigid(turn, middle + solved[3:6] - turn @ middle)
    return Deviations(sides, spreads_of(seen.points[chosen], left)[1]), motion


def _fitted(form, seen, chosen, columns, count):
    """Turn (rad), shift and offsets, their spreads, what is left, the middle of the turn."""
    points, off = seen.points[chosen], seen.off_mm[chosen]
    feet = form.nearest.closest(points)
    normals = smooth_normals(
        feet.point_mm, feet.face, form.nearest.vertices, form.nearest.faces,
        form.corner_normals,
    )  # fmt: skip
    middle = points.mean(axis=0)
    lever = np.zeros((len(points), 6 + count))
    lever[:, :3] = np.cross(points - middle, normals)
    lever[:, 3:6] = normals
    lever[np.arange(len(points)), 6 + columns] = 1.0
    # Offsets are held near zero and the pose is not: what they share goes to the pose.
    within = seen.spreads_mm[0] if np.isfinite(seen.spreads_mm[0]) else NEAR_MM
    prior = np.diag([1e-6] * 6 + [max(within / OFFSET_MM, 1e-3) ** 2] * count)
    left = off
    for turn in range(ROUNDS):
        # Wide at first: a side that lies off must not be taken for what does not belong.
        spread = 1.4826 * max(float(np.median(np.abs(left))), 1e-4)
        scale = max(2.5 * spread, NEAR_MM / 2**turn)
        weights = 1.0 / (1.0 + (left / scale) ** 2) ** 2
        weighted = lever * weights[:, None]
        inverse = np.linalg.inv(np.einsum("ki,kj->ij", weighted, lever) + prior)
        solved = inverse @ np.einsum("ki,k->i", weighted, off)
        left = off - lever @ solved
    noise = np.sqrt(np.sum(weights * left**2) / max(weights.sum() - len(solved), 1.0))
    return solved, noise * np.sqrt(np.maximum(np.diag(inverse), 0.0)), left, middle


def _side(form, mine, offset, spread, seen_mm2):
    areas, normals = form.areas[mine], form.normals[mine]
    middles = form.vertices[form.faces[mine]].mean(axis=1)
    up = float(np.average(normals[:, 2], weights=areas))
    along = np.average(normals, axis=0, weights=areas)
    radius = 0.0
    if up > LEVEL:
        height = float(np.average(middles[:, 2], weights=areas))
        kind = "top" if height > form.height_mm - 0.05 else "ledge"
    elif np.abs(normals[:, 2]).max() > WALL_UP:
        kind = "bevel" if np.linalg.norm(along[:2]) < 0.3 else "slope"
    elif np.linalg.norm(along) < np.cos(np.radians(ROUND_DEG)):
        kind = "wall"
        radius = float(np.average(np.hypot(middles[:, 0], middles[:, 1]), weights=areas))
    else:
        kind = "flat"
    return Side(kind, float(offset), float(spread), radius, float(seen_mm2))
