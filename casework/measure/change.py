"""What became of a surface: raw scan to processed scan, version to version, design to part?"""

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from scipy.spatial import cKDTree

from casework.measure.meshes import Mesh
from casework.measure.results import Measured, Quantity
from casework.measure.surfaces.differing import (
    INVENTED,
    LEAST_CHANGE_MM,
    MISSING,
    Side,
    regions,
    seen_from,
)
from casework.measure.surfaces.normals import face_areas
from casework.measure.surfaces.placing import (
    IN_PLACE,
    MIRRORED,
    MOVED,
    SCALED,
    UNLIKE,
    Placement,
    place,
)
from casework.measure.surfaces.poses import Rigid
from casework.measure.surfaces.refining import refined
from casework.measure.surfaces.sampled import Sampled
from casework.measure.topology import groups

METHOD = "change 1"
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

LEAST_SHARE = 0.02  # of the area of a scan; smaller pieces are scatter and left out
REFINED_MM = 0.5  # surfaces of larger triangles are cut so that each place is asked
NEAR_MM = 3.0
LISTED = 50  # regions told one by one, the largest first


@dataclass(frozen=True, eq=False)
class Change:
    """What was found: values, the placement of the earlier surface on the later, and fields.

    before_mm (m,), after_mm (k,): signed shift at each vertex of the meshes given, positive
    outward, nan where the other has nothing; None where the surfaces are not alike.
    """

    kind: str
    results: tuple[Measured, ...]
    placement: Placement | None = None
    before_mm: np.ndarray | None = None
    after_mm: np.ndarray | None = None
    regions: tuple = field(default=())


def compare(
    before: Mesh,
    after: Mesh,
    *,
    subject: str,
    near: Mapping[str, np.ndarray] | None = None,
    near_mm: float = NEAR_MM,
    least_mm: float = LEAST_CHANGE_MM,
    drops_islands: bool = True,
) -> Change:
    """Return what differs between two surfaces.

    near: points (k, 3) mm by name, of what matters (scan bodies, margins, contacts), in the
    frame of `after`; near_mm: how far around them; least_mm: shifts below are not told;
    drops_islands: leave out pieces of less than 2 % of the area, as scatter of a scan is.
    Places are in the frame of `after`.
    """
    near = {name: np.atleast_2d(np.asarray(at, float)) for name, at in (near or {}).items()}
    if _are_identical(before, after):
        return _identical(before, after, subject, near)
    old, dropped_old = _prepared(before, drops_islands)
    new, dropped_new = _prepared(after, drops_islands)
    found = place(old, new)
    if found.kind == UNLIKE:
        return _unlike(found, subject, near)
    sides = _sides(old, new, found)
    parts = regions(*sides, least_mm)
    kind = found.kind
    if kind == IN_PLACE:
        kind = CHANGED if parts else SAME
    told = _Told(subject, kind, found, *sides, parts, least_mm)
    results = (
        told.agreement(dropped_old, dropped_new), told.motion(), told.largest(),
        told.lone(LOST, MISSING), told.lone(ADDED, INVENTED),
        *(told.near(name, at, near_mm) for name, at in near.items()),
    )  # fmt: skip
    return Change(
        kind,
        results,
        found,
        sides[0].smooth_mm[: len(before.vertices)],
        sides[1].smooth_mm[: len(after.vertices)],
        tuple(parts),
    )


def _are_identical(before, after):
    return (
        before.faces.shape == after.faces.shape
        and before.vertices.shape == after.vertices.shape
        and np.array_equal(before.faces, after.faces)
        and np.array_equal(before.vertices, after.vertices)
    )


def _prepared(mesh, drops_islands):
    """The surface to compare, its vertices first those of the mesh; and what was left out."""
    vertices, faces = mesh.vertices, np.asarray(mesh.faces, np.int32)
    dropped = {"pieces": 0, "area_mm2": 0.0}
    if drops_islands and len(faces):
        group, count = groups(
            np.concatenate([faces[:, 0], faces[:, 1]]),
            np.concatenate([faces[:, 1], faces[:, 2]]),
            len(vertices),
        )
        piece = group[faces[:, 0]]
        areas = np.bincount(piece, face_areas(vertices, faces), count)
        keeps = areas >= LEAST_SHARE * areas.sum()
        keeps[np.argmax(areas)] = True
        dropped = {"pieces": int((~keeps).sum()), "area_mm2": float(areas[~keeps].sum())}
        if not keeps.all():
            faces = faces[keeps[piece]]
    return Sampled(*refined(vertices, faces, REFINED_MM)), dropped


def _sides(old, new, found):
    """Both surfaces, each as the other sees it, in the frame of the later one."""
    motion = Rigid.none() if found.kind == IN_PLACE else found.rigid
    if found.factor != 1.0:
        old = Sampled(old.vertices * found.factor, old.faces)
    before = seen_from(old, new, motion, motion.apply(old.vertices), -1.0)
    return before, seen_from(new, old, motion.inverse(), new.vertices, 1.0)


def _identical(before, after, subject, near):
    zero = np.zeros(len(after.vertices))
    sentence = "Both surfaces are the same, corner by corner."
    results = (
        AGREEMENT.of(subject, 1.0, kind=IDENTICAL, sentence=sentence),
        *(one.of(subject, 0.0) for one in (MOTION, LARGEST, LOST, ADDED)),
        *(NEAR.of(f"{subject} at {name}", 0.0, at[0]) for name, at in near.items()),
    )
    return Change(IDENTICAL, results, None, zero[: len(before.vertices)], zero)


def _unlike(found, subject, near):
    because = (
        "No turn, shift, mirror image or other size lays half of one surface on the other."
    )
    results = (
        AGREEMENT.of(subject, found.share, kind=UNLIKE, sentence=because),
        *(one.not_known(subject, because) for one in (MOTION, LARGEST, LOST, ADDED)),
        *(NEAR.not_known(f"{subject} at {name}", because, at[0]) for name, at in near.items()),
    )
    return Change(UNLIKE, results, found)


@dataclass(frozen=True, eq=False)
class _Told:
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
            return MOTION.of(self.subject, 0.0, uncertainty=doubt, found_mm=shift)
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
