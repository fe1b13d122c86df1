"""How does a form lie on the points of a scan around a supposed axis?

Poses tried roughly are fitted point to plane, first with everything near, then without what
lies close to the form's sharp edges, which no scanner renders as they are.
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from casework.measure.scan_bodies.forms import Form
from casework.measure.scan_bodies.rough import Nodes, starts
from casework.measure.scan_bodies.scans import Scan
from casework.measure.scan_bodies.walling import Line
from casework.measure.surfaces.aligning import Alignment, align, radius_95
from casework.measure.surfaces.poses import Pose
from casework.measure.surfaces.shading import smooth_normals

BESIDE_MM = 0.8  # points so far beside the form are looked at, too
ABOVE_MM = 1.0
FROM_MM = 0.3  # above the platform; what is below it is no part of the form
EDGE_ZONE_MM = 0.3  # so near to a sharp edge nothing is fitted
ROUGH_MM, ROUGHEST_MM = 0.3, 0.6  # cut-offs of the fit from a rough pose, the last one first
LAST_MM, FIRST_MM = 0.12, 0.24  # from a near one
QUICK_STILL_MM, FEW_STILL_MM, STILL_MM = 0.004, 0.001, 1e-4
QUICK_POINTS = 500  # enough to tell which rough pose leads where
FEW_POINTS = 1500  # enough to come near
MANY = 2  # times as many points: fewer come first
STARTS, MORE_STARTS = 4, 10  # rough poses that are fitted, of a round and another body
ON_MM = 0.12  # a point within this of the form belongs to it
IN_MM = 0.3  # a point deeper than this in the form speaks against it
AGREE_COSINE = 0.8
LEAST_POINTS = 40
ALL, TURN, HEIGHT = (0, 1, 2, 3, 4, 5), 2, 5  # what may move in a fit
SECTORS, GUM_MM = 16, 0.4  # directions around the axis; the gum blends into the wall so high
LOWEST, LEAST_IN_SECTOR = 0.05, 6  # share of a direction's points below which the gum ends
MISFIT_MM, PATCH_MM = 0.3, 1.0  # distances looked at, and over how far they are averaged
UNDER_MM = 1.0  # so far below the platform it is asked what faces up or down
LEVEL, LITTLE_MM2 = 0.7, 2.0  # cosine of what does; so little of it tells nothing
LEAST_MM2 = 6.0
LIKELY_SHARE, LIKELY_MISFIT_MM = 0.5, 0.08


def without(*left: int) -> tuple[int, ...]:
    """Return what may move in a fit but for some of it."""
    return tuple(one for one in ALL if one not in left)


@dataclass(frozen=True, eq=False)
class Known:
    """A reference form, its name, and its grid of rough distances."""

    name: str
    form: Form
    nodes: Nodes

    @classmethod
    def of(cls, name: str, form: Form) -> "Known":
        return cls(name, form, Nodes.of(form))


@dataclass(frozen=True, eq=False)
class Seen:
    """What a scan shows around a form at a pose, in the form's own coordinates.

    points (k, 3), normals, areas in mm2; off_mm (k,) the distance along the normal of the form,
    away_mm (k,) the distance, face (k,) nearest. is_on (k,): what belongs to the form; is_in:
    what lies deep in it; is_free: what is above the gum, so that it should belong to the form.
    gum_mm: the height above the platform over which the form stands free nearly all around.
    stands: what surrounds the form looks up along it, as gum does around what stands in it.
    """

    points: np.ndarray
    normals: np.ndarray
    areas: np.ndarray
    off_mm: np.ndarray
    away_mm: np.ndarray
    face: np.ndarray
    agrees: np.ndarray
    is_on: np.ndarray
    is_in: np.ndarray
    is_free: np.ndarray
    gum_mm: float
    stands: bool

    @property
    def worth_mm2(self) -> float:
        return float(self.areas[self.is_on].sum() - 2 * self.areas[self.is_in].sum())

    @property
    def fits_share(self) -> float:
        """Share of what faces as the form does there, or lies in it, that belongs to it."""
        beside = self._is_beside
        whole = self.areas[beside].sum()
        return float(self.areas[beside & self.is_on].sum() / whole) if whole > 0 else 0.0

    @property
    def off_rms_mm(self) -> float:
        """Of the same, how far it lies off, root mean square; what is farther counts 0.3 mm."""
        beside = self._is_beside
        if not beside.any():
            return np.inf
        off = np.minimum(self.away_mm[beside], MISFIT_MM)
        return float(np.sqrt(np.average(off**2, weights=self.areas[beside])))

    @property
    def _is_beside(self):
        return self.is_free & (self.away_mm < BESIDE_MM) & (self.agrees | self.is_in)

    @cached_property
    def spreads_mm(self):
        """Of the distances above the gum: see `spreads_of`."""
        mine = self.is_free & self.agrees & (np.abs(self.off_mm) < MISFIT_MM)
        return spreads_of(self.points[mine], self.off_mm[mine])

    @property
    def is_likely(self) -> bool:
        """Could a better fit still make this the form?"""
        return (
            self.stands
            and self.worth_mm2 > LEAST_MM2
            and self.fits_share > LIKELY_SHARE
            and self.spreads_mm[1] < LIKELY_MISFIT_MM
        )


@dataclass(frozen=True, eq=False)
class Laid:
    """A form on a scan: its pose, what the fit says of itself, the points around it."""

    known: Known
    pose: Pose
    alignment: Alignment
    around: Scan

    @cached_property
    def seen(self) -> Seen:
        return seen_at(self.around, self.pose, self.known.form)

    @property
    def origin_95_mm(self) -> float:
        """Radius that holds 95 % of the errors of the platform's centre."""
        return radius_95(self.alignment.shift_covariance(np.zeros(3)))

    @property
    def height_95_mm(self) -> float:
        """Half width of the same along the axis."""
        return radius_95(self.alignment.shift_covariance(np.zeros(3))[2:, 2:])

    @property
    def axis_95_deg(self) -> float:
        return float(np.degrees(radius_95(self.alignment.turn_covariance[:2, :2])))

    @property
    def rotation_95_deg(self) -> float:
        return float(np.degrees(radius_95(self.alignment.turn_covariance[2:, 2:])))


def spreads_of(points: np.ndarray, off_mm: np.ndarray) -> tuple[float, float]:
    """Return the spread of distances within patches (noise) and of the patches (misfit), mm.

    The components of variance of a one-way layout (H. Scheffé, The Analysis of Variance, 1959):
    white noise does not enter the second. Infinite where there are too few points.
    """
    cells = np.floor(points / PATCH_MM).astype(np.int64) + 100
    key = (cells[:, 0] * 1000 + cells[:, 1]) * 1000 + cells[:, 2]
    _, patch, count = np.unique(key, return_inverse=True, return_counts=True)
    if len(off_mm) < 2 * len(count) or len(count) < 4:
        return np.inf, np.inf
    sums = np.bincount(patch, off_mm)
    within = ((off_mm**2).sum() - (sums**2 / count).sum()) / (len(off_mm) - len(count))
    between = ((sums**2 / count).sum() - within * len(count)) / len(off_mm)
    return float(np.sqrt(max(within, 0.0))), float(np.sqrt(max(between, 0.0)))


def lay(scan: Scan, line: Line, known: Known) -> Laid | None:
    """Return the form on the points around a line where it lies best; None where nowhere."""
    form = known.form
    reach, along = form.reach_mm + BESIDE_MM, form.height_mm + ABOVE_MM
    around = scan.only(scan.near(line.point_mm, line.axis, reach, along))
    if len(around.vertices) < LEAST_POINTS:
        return None
    poses = starts(
        around.vertices, around.normals, around.areas, line.point_mm, line.axis, form,
        known.nodes,
    )  # fmt: skip
    best, few, fewer = None, around.thinned(FEW_POINTS), around.thinned(QUICK_POINTS)
    for _area, pose in poses[: STARTS if len(form.walls_mm) == 1 else MORE_STARTS]:
        settled = _settled(fewer, pose, form, ROUGHEST_MM, ROUGH_MM, QUICK_STILL_MM)
        if settled is None:
            continue
        seen = seen_at(few, settled[0], form)
        if seen.is_likely and (best is None or seen.worth_mm2 > best[0]):
            best = seen.worth_mm2, settled[0]
    return None if best is None else settle(around, best[1], known)


def settle(around: Scan, pose: Pose, known: Known, moves=ALL) -> Laid | None:
    """Return the form fitted with all points from a near pose.

    `moves` leaves out what is not to move: 2 the turn about its axis, 5 the height.
    """
    if known.form.turns == 0:
        moves = tuple(one for one in moves if one != TURN)
    first, last = FIRST_MM, LAST_MM
    if len(around.vertices) > MANY * FEW_POINTS:
        few = around.thinned(FEW_POINTS)
        settled = _settled(few, pose, known.form, first, last, FEW_STILL_MM, moves)
        if settled is None:
            return None
        pose = settled[0]
        first = last = settled[1].cutoff_mm
    settled = _settled(around, pose, known.form, first, last, STILL_MM, moves)
    return None if settled is None else Laid(known, *settled, around)


def _settled(around, pose, form, first_mm, last_mm, still_mm, moves=ALL):
    local = pose.to_local(around.vertices)
    used = (local[:, 2] > FROM_MM) & (local[:, 2] < form.height_mm + BESIDE_MM)
    if first_mm <= FIRST_MM:
        used &= form.edges.query(local, distance_upper_bound=EDGE_ZONE_MM)[0] == np.inf
    if used.sum() < LEAST_POINTS:
        return None
    found = align(
        around.vertices[used], around.normals[used], form.nearest, pose.rigid.inverse(),
        first_cutoff_mm=first_mm,
        last_cutoff_mm=last_mm,
        corner_normals=form.corner_normals,
        moves=moves,
        most_points=len(around.vertices),
        still_mm=still_mm,
    )  # fmt: skip
    if found is None:
        return None
    back = found.rigid.inverse()
    return Pose(back.shift_mm, back.rotation[:, 2], back.rotation[:, 0]), found


def seen_at(around: Scan, pose: Pose, form: Form) -> Seen:
    """Return what a scan shows around a form that stands at a pose."""
    local = pose.to_local(around.vertices)
    mine = np.flatnonzero(
        (local[:, 2] > -UNDER_MM) & (local[:, 2] < form.height_mm + BESIDE_MM)
    )
    is_low = local[mine, 2] <= FROM_MM
    low, mine = mine[is_low], mine[~is_low]
    local, normals = local[mine], around.normals[mine] @ pose.rigid.rotation
    found = form.nearest.closest(local)
    there = smooth_normals(
        found.point_mm, found.face, form.nearest.vertices, form.nearest.faces,
        form.corner_normals,
    )  # fmt: skip
    off = np.einsum("ij,ij->i", local - found.point_mm, there)
    agree = np.einsum("ij,ij->i", normals, there)
    is_on = found.is_found & (found.distance_mm < ON_MM) & (agree > AGREE_COSINE)
    is_in = found.is_found & (found.signed_mm < -IN_MM)
    is_free, gum = _above_gum(local, is_on)
    beside = np.concatenate([low, mine[~is_on & ~is_in]])
    up = around.normals[beside] @ pose.axis
    upward, downward = (around.areas[beside][way].sum() for way in (up > LEVEL, up < -LEVEL))
    return Seen(
        local, normals, around.areas[mine], off, found.distance_mm, found.face,
        agree > AGREE_COSINE, is_on, is_in, is_free, gum,
        stands=bool(downward <= max(upward, LITTLE_MM2)),
    )  # fmt: skip


def _above_gum(local, is_on):
    """Points that lie higher, in their direction from the axis, than where the form emerges."""
    sector = np.floor(np.arctan2(local[:, 1], local[:, 0]) / (2 * np.pi) * SECTORS) % SECTORS
    sector = sector.astype(int)
    low = np.full(SECTORS, np.inf)
    on = np.flatnonzero(is_on)
    on = on[np.lexsort((local[on, 2], sector[on]))]
    ends = np.searchsorted(sector[on], np.arange(SECTORS + 1))
    for k in range(SECTORS):
        mine = local[on[ends[k] : ends[k + 1]], 2]
        if len(mine) >= LEAST_IN_SECTOR:
            place = LOWEST * (len(mine) - 1)
            low[k] = np.interp(place, np.arange(len(mine)), mine) + GUM_MM
    known = low[np.isfinite(low)]
    gum = float(np.quantile(known, 0.75)) if len(known) else np.inf
    return local[:, 2] > low[sector], gum
