"""Do two surfaces lie in one place, and if not, what carries one onto the other?

First where they stand, then anywhere, then as a mirror image, then in another size.
"""

from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import NamedTuple

import numpy as np

from casework.measure.surfaces.aligning import Alignment, align, radius_95
from casework.measure.surfaces.poses import Rigid
from casework.measure.surfaces.sampled import Sampled
from casework.measure.surfaces.searching import Search

IN_PLACE, MOVED, MIRRORED, SCALED, UNLIKE = "in place", "moved", "mirrored", "scaled", "unlike"

# What counts as lying on the surface: so many standard deviations of the noise of both, at
# least what processing moves a scan at its edges, at most what tells two patients apart. A
# body is met more exactly: by the share of its size.
NOISES, LEAST_FINE_MM, MOST_FINE_MM, FINE_SHARE = 2.5, 0.03, 0.15, 5e-4
# Of the smaller surface, what must lie on the other for both to show one thing, and how far it
# may spread there: what only crosses the other is spread evenly, 0.74 of what counts.
SAME_SHARE, SAME_SPREAD = 0.5, 0.5
WHOLE_SHARE, EXACT_WHOLE_SHARE = 0.97, 0.999  # of noisy surfaces, and of exact ones
EXACT_MM = 0.002  # noise below
ROUGH_SHARE = 0.7  # of the share wanted, what a first guess must show
BETTER_SHARE = 0.1  # by which a mirror image must fit better than the surface as it is
FIRST_LOOK, ROUGH = 3_000, 1_500  # points
ALIKE = 1e-3  # moments of two copies of one body, by the points strewn over it
UNITS = {25.4: "inch", 10.0: "centimetre", 1000.0: "metre"}  # in millimetres
UNIT_ALIKE = 0.25  # how far the sizes of files that show one thing may differ
SAME_SIZE = 1e-3
SAME_PLACE_SHARE = 0.02  # by which two fits of one place may differ
STILL_MM = 1e-3  # a motion below is none: a file's single precision at 60 mm is 4e-6 mm


@dataclass(frozen=True, eq=False)
class Placement:
    """How one surface lies on another.

    `kind` is one of the five words above. x becomes `rigid` applied to `factor` x; where
    mirrored, the turn of `rigid` has determinant -1. `share` of the smaller surface and
    `other_share` of the larger lie on the other within `fine_mm`, `spread_mm` is the robust
    deviation there. `is_turned_over`: what is inside for one is outside for the other.
    `alignment` tells how surely. `shared_mm` (k, 3): some places that both show, in the frame
    of the target.
    """

    kind: str
    rigid: Rigid
    factor: float
    share: float
    other_share: float
    spread_mm: float
    fine_mm: float
    alignment: Alignment | None = None
    unit: str = ""
    is_turned_over: bool = False
    is_source_smaller: bool = True
    shared_mm: np.ndarray = field(default_factory=lambda: np.zeros((0, 3)))

    def apply(self, points: np.ndarray) -> np.ndarray:
        """Return points (k, 3) of the source where they come to lie on the target."""
        return self.rigid.apply(points * self.factor)

    def shift_doubt_mm(self, place_mm: np.ndarray) -> float:
        """Return half the 95 % interval of where the motion carries what comes to lie there."""
        if self.alignment is None:
            return 0.0
        if not self.alignment.is_held:
            return float("inf")
        at = place_mm
        if not self.is_source_smaller:  # the covariance is in the frame of the larger surface
            at = self.rigid.inverse().apply(place_mm[None])[0]
        return radius_95(self.alignment.shift_covariance(at))

    def largest_shift(self) -> tuple[float, np.ndarray, float]:
        """Return how far the motion carries shared places at most, where to, and its doubt."""
        shifts = np.linalg.norm(
            self.shared_mm - self.rigid.inverse().apply(self.shared_mm), axis=1
        )
        top = int(np.argmax(shifts))
        at = self.shared_mm[top]
        return float(shifts[top]), at, self.shift_doubt_mm(at)

    @property
    def is_same(self) -> bool:
        """Do both surfaces show one thing?"""
        return self.share >= SAME_SHARE and self.spread_mm <= SAME_SPREAD * self.fine_mm

    @property
    def quality(self) -> tuple[float, float]:
        """Greater is better."""
        return min(self.share, 0.999), -self.spread_mm


def place(
    source: Sampled, target: Sampled, *, is_left_out=None, is_near: bool = False
) -> Placement:
    """Return how the source lies on the target.

    is_left_out(points (k, 3)) -> (k,) bool: places of both, where they stand, that take no
    part. is_near: look no farther than about 1 mm.
    """
    if source.is_empty or target.is_empty:
        return Placement(UNLIKE, Rigid.none(), 1.0, 0.0, 0.0, np.inf, 0.0)
    return _Placing(source, target, is_left_out).placed(is_near)


class _Placing:
    def __init__(self, source, target, is_left_out=None):
        self.source, self.target = source, target
        self.a, self.b = source.cloud, target.cloud
        if is_left_out is not None:
            self.a, self.b = (
                cloud.kept(~is_left_out(cloud.points)) for cloud in (self.a, self.b)
            )
        self.swaps = self.a.area_mm2 > self.b.area_mm2
        self.size = min(self.a.size_mm, self.b.size_mm)
        self.reach = min(source.reach_mm, target.reach_mm)
        noise = float(np.hypot(source.noise_mm, target.noise_mm))
        self.whole = EXACT_WHOLE_SHARE if noise < EXACT_MM else WHOLE_SHARE
        least = min(LEAST_FINE_MM, FINE_SHARE * self.size)
        self.fine = min(max(NOISES * noise, least), MOST_FINE_MM)

    def placed(self, is_near):
        if not (len(self.a.points) and len(self.b.points)):
            return Placement(UNLIKE, Rigid.none(), 1.0, 0.0, 0.0, np.inf, self.fine)
        here = self._looked(Rigid.none(), FIRST_LOOK)
        best = self._best([(Rigid.none(), False)], MOVED)
        best = here if best is None or here.share > best.share + SAME_PLACE_SHARE else best
        if not best.is_same and not is_near:
            best = max(best, self._anywhere(MOVED) or best, key=lambda one: one.quality)
        if not is_near and not self._is_whole(best):
            best = self._otherwise(best)
        if not best.is_same:
            return replace(best, kind=UNLIKE)
        return self._still(best, here) if best.kind == MOVED else best

    def _otherwise(self, best):
        """A mirror image or another size, where that fits clearly better."""
        is_bad, ratio = not best.is_same, self._copy_ratio()
        if is_bad or (ratio is not None and abs(ratio - 1) <= SAME_SIZE):
            mirror = self._anywhere(MIRRORED)
            if mirror is not None and self._is_better(mirror, best):
                return mirror
        for factor in self._factors(is_bad, ratio):
            scaled = self._scaled(factor)
            if scaled is not None and self._is_better(scaled, best):
                return scaled
        return best

    def _is_whole(self, placement):
        return min(placement.share, placement.other_share) >= self.whole

    def _is_better(self, other, best):
        """Does a mirror image or another size say more than the surface as it is?"""
        if self._is_whole(other):
            return not self._is_whole(best)
        gain = BETTER_SHARE if best.is_same else 0.0
        return other.is_same and other.share >= best.share + gain

    def _copy_ratio(self):
        """The factor of size if one may be a copy of the other, mirrored or not."""
        ratio = float(np.sqrt(self.b.area_mm2 / self.a.area_mm2))
        a, b = (np.sqrt(np.abs(cloud.moments[0])) for cloud in (self.a, self.b))
        return ratio if np.all(np.abs(a * ratio - b) <= ALIKE * self.b.size_mm) else None

    def _factors(self, is_bad, ratio):
        """Units that the sizes allow, then what a copy in another size says."""
        sizes = self.b.size_mm / self.a.size_mm
        named = [factor for unit in UNITS for factor in (unit, 1 / unit)]
        if is_bad:
            yield from (
                one for one in named if abs(np.log(sizes / one)) < np.log(1 + UNIT_ALIKE)
            )
        if ratio is not None and abs(ratio - 1) > SAME_SIZE:
            near = [one for one in named if abs(ratio / one - 1) < SAME_SIZE]
            if not (near and is_bad):
                yield near[0] if near else ratio

    def _scaled(self, factor):
        vertices = self.source.vertices * factor
        placing = _Placing(Sampled(vertices, self.source.faces), self.target)
        found = placing.placed(True)
        if found.kind == UNLIKE:
            found = placing._anywhere(MOVED)
        if found is None or not found.is_same:
            return None
        return replace(found, kind=SCALED, factor=factor, unit=_unit_of(factor))

    def _anywhere(self, kind):
        """The best of all motions, or of all mirror images; at last with the other side out."""
        best = None
        for is_over in (False, True):
            moving = self._ends[0].turned_over() if is_over else self._ends[0]
            starts = [
                (rigid.inverse() if self.swaps else rigid, is_over)
                for share, rigid in self._search.candidates(moving, mirrored=kind == MIRRORED)
                if share >= ROUGH_SHARE * SAME_SHARE
            ]
            found = self._best(starts, kind)
            if found is not None and (best is None or found.quality > best.quality):
                best = found
            if best is not None and best.is_same:
                break
        return best

    def _best(self, starts, kind):
        """Settle the motions from their starts; the one most of the surface agrees with."""
        best = None
        for start, is_over in starts:
            rough = self._settled(start, is_over, kind, ROUGH)
            if rough is not None and (best is None or rough.quality > best.quality):
                best = rough
            if best is not None and best.is_same and best.share > WHOLE_SHARE - BETTER_SHARE:
                break
        if best is None or best.share < 0.8 * SAME_SHARE:
            return best
        return self._settled(best.rigid, best.is_turned_over, kind, None) or best

    @cached_property
    def _search(self):
        return Search(self.a if self.swaps else self.b, self.size)

    @property
    def _ends(self):
        """The points of the smaller surface, and the larger one."""
        return (self.b, self.source) if self.swaps else (self.a, self.target)

    def _settled(self, start, is_over, kind, most):
        """Move the smaller surface until it lies on the other as well as it can."""
        moving, surface = self._ends
        moving = moving.turned_over() if is_over else moving
        first = start.inverse() if self.swaps else start
        flip = Rigid.none() if kind == MOVED else _flip(moving.centre_mm)
        moving = moving.moved(flip).thinned(most or len(moving.points))
        found = align(
            moving.points, moving.normals, surface.nearest, first.after(flip),
            first_cutoff_mm=self.reach,
            last_cutoff_mm=max(2 * self.fine, self.reach / 8),
        )  # fmt: skip
        if found is None:
            return None
        rigid = found.rigid.after(flip)
        told = self._looked(rigid.inverse() if self.swaps else rigid, most or FIRST_LOOK)
        return replace(told, kind=kind, alignment=found, is_turned_over=is_over)

    def _looked(self, rigid, most):
        """How much of each surface lies on the other once the source is moved."""
        a, b = self.a.thinned(most), self.b.thinned(most)
        there = self._distances(a, rigid, self.target)
        back = self._distances(b, rigid.inverse(), self.source)
        small, large = (back, there) if self.swaps else (there, back)
        shared = b.points[small.within] if self.swaps else rigid.apply(a.points[small.within])
        return Placement(
            MOVED, rigid, 1.0, small.share, large.share, small.spread, self.fine,
            is_turned_over=small.is_over, is_source_smaller=not self.swaps, shared_mm=shared,
        )  # fmt: skip

    def _distances(self, cloud, rigid, surface):
        moved = cloud.moved(rigid)
        found = surface.nearest.closest(moved.points, self.reach)
        within = found.distance_mm <= self.fine
        if not within.any():
            return _Lying(within, 0.0, np.inf, False)
        facing = np.einsum("ij,ij->i", moved.normals, found.normals())[within]
        spread = 1.4826 * float(np.median(found.distance_mm[within]))
        return _Lying(within, float(within.mean()), spread, bool(np.median(facing) < 0))

    def _still(self, found, here):
        """In place where the motion is not more than its own doubt anywhere on the surface.

        A body that may be turned on itself has no known turn: it is in place if it fits there.
        """
        shift, _, doubt = found.largest_shift()
        if not np.isfinite(doubt):
            is_still = here.share >= found.share - SAME_PLACE_SHARE
        else:
            is_still = shift <= max(2.0 * doubt, STILL_MM)
        return replace(found, kind=IN_PLACE) if is_still else found


class _Lying(NamedTuple):
    """Which points of a surface lie on the other, and how."""

    within: np.ndarray
    share: float
    spread: float
    is_over: bool


def _flip(centre):
    """The mirror image in the plane x = constant through a point: its own inverse."""
    return Rigid(np.diag([-1.0, 1.0, 1.0]), np.array([2.0 * centre[0], 0.0, 0.0]))


def _unit_of(factor):
    for unit, name in UNITS.items():
        if np.isclose(factor, unit) or np.isclose(factor, 1 / unit):
            return name
    return ""
