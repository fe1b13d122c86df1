"""Which values tell what became of a surface, and in which words?"""

from dataclasses import dataclass

import numpy as np
from scipy.spatial import cKDTree

from casework.measure.results import Quantity
from casework.measure.surfaces.differing import INVENTED, MISSING, Side
from casework.measure.surfaces.placing import MIRRORED, MOVED, SCALED, Placement

IDENTICAL, SAME, CHANGED = "identical", "same surface", "changed in places"

AGREEMENT = Quantity(
    "change_agreement",
    "share of the surface that lies where the other does",
    "",
    "area of both whose nearest distance, freed of noise, stays below the least change told",
)
MOTION = Quantity(
    "change_motion",
    "largest shift of the surface as a whole",
    "mm",
    "trimmed point-to-plane registration; 0 where not more than its doubt",
)
LARGEST = Quantity(
    "change_largest",
    "largest local shift of the surface",
    "mm",
    "nearest distance both ways, lightly smoothed, after the motion of the whole is undone",
)
LOST = Quantity(
    "change_missing_area",
    "area that is missing",
    "mm2",
    "triangles whose nearest place is beyond the reach or sideways of the other's border",
)
ADDED = Quantity(
    "change_invented_area",
    "area that was not there before",
    "mm2",
    "triangles whose nearest place is beyond the reach or sideways of the other's border",
)
NEAR = Quantity(
    "change_near",
    "largest shift near a place that matters",
    "mm",
    "the largest local shift of the regions that come within the distance told",
)
QUANTITIES = (AGREEMENT, MOTION, LARGEST, LOST, ADDED, NEAR)

LISTED = 50  # regions told one by one, the largest first


@dataclass(frozen=True, eq=False)
class Told:
    """The values of two surfaces that are alike."""

    subject: str
    kind: str
    found: Placement
    before: Side
    after: Side
    parts: list
    least_mm: float

    def agreement(self, dropped_old, dropped_new):
        shares = [
            float(side.corner_areas_mm2[np.abs(side.smooth_mm) <= self._level].sum()
                  / max(side.areas_mm2.sum(), 1e-30))
            for side in (self.before, self.after)
        ]  # fmt: skip
        rigid = self.found.rigid
        return AGREEMENT.of(
            self.subject, min(shares),
            kind=self.kind, sentence=self._sentence(), share_before=shares[0],
            share_after=shares[1], factor=self.found.factor, unit=self.found.unit,
            matrix=rigid.matrix, is_turned_over=self.found.is_turned_over,
            noise_of_field_mm=max(self.before.noise_mm, self.after.noise_mm),
            least_change_mm=self._level,
            scatter_left_out={"before": dropped_old, "after": dropped_new},
            region_count=len(self.parts),
            regions=[self._region(one) for one in self.parts[:LISTED]],
        )  # fmt: skip

    @property
    def _level(self):
        return max(self.least_mm, self.before.doubt_mm, self.after.doubt_mm)

    def motion(self):
        if self.kind in (MIRRORED, SCALED):
            return MOTION.not_known(self.subject, self._sentence())
        shift, at, doubt = self.found.largest_shift()
        doubt = doubt if np.isfinite(doubt) else None
        if self.kind != MOVED:
            return MOTION.of(self.subject, 0.0, uncertainty=doubt)
        return MOTION.of(
            self.subject, shift, at, doubt,
            turn_deg=self.found.rigid.angle_deg, matrix=self.found.rigid.matrix,
        )  # fmt: skip

    def largest(self):
        moved = [one for one in self.parts if one.kind not in (MISSING, INVENTED)]
        if not moved:
            return LARGEST.of(
                self.subject, 0.0, uncertainty=self._level,
                note="Every shift stays below the least change told.",
            )  # fmt: skip
        top = max(moved, key=lambda one: abs(one.peak_mm))
        return LARGEST.of(
            self.subject, abs(top.peak_mm), top.place_mm, self._doubt,
            region=self._region(top), region_count=len(moved),
        )  # fmt: skip

    @property
    def _doubt(self):
        return max(self.before.doubt_mm, self.after.doubt_mm)

    def lone(self, quantity, kind):
        mine = [one for one in self.parts if one.kind == kind]
        return quantity.of(
            self.subject, sum(one.area_mm2 for one in mine),
            mine[0].place_mm if mine else None,
            sum(one.span_mm for one in mine) * np.pi * self.after.edge_mm / 4,
            regions=[self._region(one) for one in mine[:LISTED]], region_count=len(mine),
            largest_span_mm=mine[0].span_mm if mine else 0.0,
        )  # fmt: skip

    def near(self, name, at, near_mm):
        tree, least, moved, lone = cKDTree(at), np.inf, None, {MISSING: 0.0, INVENTED: 0.0}
        for part in self.parts:
            distance = float(tree.query(part.corners)[0].min())
            least = min(least, distance)
            if distance > near_mm:
                continue
            if part.kind in lone:
                lone[part.kind] += part.area_mm2
        for side in (self.before, self.after):
            inside = np.flatnonzero(
                np.isfinite(tree.query(side.vertices, distance_upper_bound=near_mm)[0])
                & np.isfinite(side.smooth_mm)
            )
            if len(inside):
                top = inside[np.argmax(np.abs(side.smooth_mm[inside]))]
                if moved is None or abs(side.smooth_mm[top]) > abs(moved[0]):
                    moved = float(side.smooth_mm[top]), side.vertices[top]
        subject = f"{self.subject} at {name}"
        more = {
            "within_mm": near_mm, "nearest_region_mm": least,
            "missing_area_mm2": lone[MISSING], "invented_area_mm2": lone[INVENTED],
        }  # fmt: skip
        if moved is None:
            because = f"Nothing that both surfaces show lies within {near_mm:g} mm."
            return NEAR.not_known(subject, because, at[0], **more)
        return NEAR.of(
            subject, abs(moved[0]), moved[1], self._doubt, is_outward=moved[0] > 0, **more
        )

    def _region(self, one):
        return {
            "kind": one.kind, "peak_mm": one.peak_mm, "raw_peak_mm": one.raw_peak_mm,
            "mean_mm": one.mean_mm, "area_mm2": one.area_mm2, "span_mm": one.span_mm,
            "place_mm": one.place_mm,
        }  # fmt: skip

    def _sentence(self):
        count, factor = len(self.parts), self.found.factor
        regions_told = f"{count} region{'' if count == 1 else 's'} differ{'s' * (count == 1)}"
        if self.kind == MIRRORED:
            return (
                "One surface is the mirror image of the other: no turn and shift carries one "
                "onto the other, a reflection does."
            )
        if self.kind == SCALED:
            unit = f", as between millimetre and {self.found.unit}" if self.found.unit else ""
            return f"One surface is the other times {factor:.6g}{unit}."
        if self.kind == MOVED:
            return (
                "The surface was moved as a whole: turned by "
                f"{self.found.rigid.angle_deg:.3f} degrees and shifted; then {regions_told}."
            )
        if self.kind == SAME:
            return "Both show the same surface, differently meshed at most."
        return f"The surface lies where it was; {regions_told}."
