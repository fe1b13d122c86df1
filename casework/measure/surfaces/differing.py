"""Where do two surfaces that lie on each other differ, by how much, and over what area?

Distances are taken both ways, from each corner of one to the nearest place of the other. What
has its nearest place on the border of the other, off sideways, or has none within the reach,
belongs to one surface only. Signs: positive where the later surface lies outside the earlier.
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import connected_components

from casework.measure.distances import span_mm
from casework.measure.surfaces.fields import median_edge_mm, without_noise
from casework.measure.surfaces.nearest import Closest
from casework.measure.surfaces.poses import Rigid
from casework.measure.surfaces.sampled import Sampled

OUT, IN, MISSING, INVENTED = "moved out", "moved in", "missing", "invented"

CHANGED_NOISES = 5.0  # of the smoothed field: one of a million corners by chance
LEAST_CHANGE_MM = 0.02  # what processing and another meshing do at edges
LEAST_AREA_MM2 = 0.2  # half a millimetre across
OFF_NOISES = 3.0
OFF_MM = 0.001  # sideways of a border; a piece must be off by an edge somewhere to count


@dataclass(eq=False)
class Side:
    """One surface seen from the other.

    vertices (m, 3) where they come to lie in the later surface's frame; raw_mm (m,) signed
    distance, nan where there is none; smooth_mm the same without noise; areas_mm2 (n,) of the
    faces; links (m,) a corner of the nearest face of the other, -1 for none; face_off_mm (n,)
    how far the middles of the faces lie sideways of the other's border, inf beyond the reach.
    """

    vertices: np.ndarray
    faces: np.ndarray
    raw_mm: np.ndarray
    smooth_mm: np.ndarray
    areas_mm2: np.ndarray
    links: np.ndarray
    noise_mm: float
    edge_mm: float
    face_off_mm: np.ndarray

    @cached_property
    def corner_areas_mm2(self) -> np.ndarray:
        """The third of its faces' areas that stands for each corner, (m,)."""
        return np.bincount(
            self.faces.ravel(), np.repeat(self.areas_mm2 / 3.0, 3), len(self.vertices)
        )

    @property
    def doubt_mm(self) -> float:
        """Half the 95 % interval of one smoothed value."""
        return 1.96 * self.noise_mm


@dataclass(frozen=True)
class Region:
    """A connected part that differs; lengths mm, areas mm2, in the later surface's frame.

    `peak_mm` is signed; for what is missing or invented the largest distance from the other
    surface, as far as it was looked for. `corners` (k, 3) are its corners.
    """

    kind: str
    peak_mm: float
    raw_peak_mm: float
    mean_mm: float
    area_mm2: float
    place_mm: np.ndarray
    span_mm: float
    corners: np.ndarray


def seen_from(
    own: Sampled, other: Sampled, into_other: Rigid, placed: np.ndarray, sign: float
) -> Side:
    """Return one surface as the other sees it.

    `into_other` carries it into the frame of the other; `placed` (m, 3) is where its vertices
    lie in the frame of the results; `sign` is -1 for the earlier surface.
    """
    reach = min(own.reach_mm, other.reach_mm)
    is_still = not (into_other.matrix - np.eye(4)).any()
    asked = own.vertices if is_still else into_other.apply(own.vertices)
    found = other.nearest.closest(asked, reach)
    off = _off_border(found)
    is_shared = found.is_found & (off == 0)
    raw = np.where(is_shared, sign * found.signed_mm, np.nan)
    edge = median_edge_mm(own.vertices, own.faces)
    smooth, noise = without_noise(raw, own, edge)
    return Side(
        placed, own.faces, raw, smooth, own.areas_mm2, _links(found), noise, edge,
        _faces_off(own, asked, off, other.nearest, reach),
    )  # fmt: skip


def regions(before: Side, after: Side, least_mm: float = LEAST_CHANGE_MM) -> list[Region]:
    """Return every region in which the two sides differ, the largest area first."""
    least = max(least_mm, CHANGED_NOISES * max(before.noise_mm, after.noise_mm))
    found = [
        *_moved_regions(before, after, least),
        *_lone_regions(before, after, MISSING),
        *_lone_regions(after, before, INVENTED),
    ]
    return sorted(found, key=lambda one: -one.area_mm2)


def _off_border(found: Closest):
    """How far each point lies sideways of the other's border; 0 for above it, inf beyond."""
    off = np.where(found.is_found, 0.0, np.inf)
    at = np.flatnonzero(found.is_found & (found.feature > 0))
    at = at[found.is_on_border[at]]
    away = found.points[at] - found.point_mm[at]
    normals = found.surface.face_normals[found.face[at]]
    along = np.einsum("ij,ij->i", away, normals)
    aside = np.sqrt(np.maximum(np.einsum("ij,ij->i", away, away) - along**2, 0.0))
    off[at] = np.where(aside > OFF_MM, aside, 0.0)
    return off


def _links(found):
    """The corner of the other's nearest face, as a number of its vertices."""
    links = np.full(len(found.points), -1, np.int64)
    at = np.flatnonzero(found.is_found)
    corner = np.where(found.feature[at] >= 4, found.feature[at] - 4, 0)
    links[at] = found.surface.faces[found.face[at], corner]
    return links


def _faces_off(own, asked, off, other, reach):
    """How far the middles of those faces lie off that have a corner off."""
    result = np.zeros(len(own.faces))
    some = np.flatnonzero((off > 0)[own.faces].any(axis=1))
    if len(some):
        middles = asked[own.faces[some]].mean(axis=1)
        result[some] = _off_border(other.closest(middles, reach))
    return result


def _moved_regions(before, after, least):
    """Parts that moved, told once although both sides see them."""
    changed = [np.abs(side.smooth_mm) > least for side in (before, after)]
    first = len(before.vertices)
    rows, columns = [], []
    for side, own, start in ((before, changed[0], 0), (after, changed[1], first)):
        a, b = side.faces, np.roll(side.faces, -1, axis=1)
        both = own[a] & own[b]
        rows.append(a[both] + start)
        columns.append(b[both] + start)
    for side, own, others, start, there in (
        (before, changed[0], changed[1], 0, first), (after, changed[1], changed[0], first, 0),
    ):  # fmt: skip
        at = np.flatnonzero(own & (side.links >= 0))
        at = at[others[side.links[at]]]
        rows.append(at + start)
        columns.append(side.links[at] + there)
    is_changed = np.concatenate(changed)
    label = _labels(np.concatenate(rows), np.concatenate(columns), is_changed)
    for mine in _groups(np.flatnonzero(is_changed), label):
        parts = [
            _Part.of(side, own)
            for side, own in (
                (before, mine[mine < first]),
                (after, mine[mine >= first] - first),
            )
            if len(own)
        ]
        best = max(parts, key=lambda part: abs(part.peak_mm))
        area = max(part.area_mm2 for part in parts)
        if area >= LEAST_AREA_MM2:
            yield Region(
                OUT if best.peak_mm > 0 else IN, best.peak_mm, best.raw_peak_mm, best.mean_mm,
                area, best.place_mm, span_mm(best.corners), best.corners,
            )  # fmt: skip


def _groups(members, label):
    """The members of each label, in the order of the labels."""
    order = np.argsort(label, kind="stable")
    return (
        np.split(members[order], np.flatnonzero(np.diff(label[order])) + 1)
        if len(label)
        else []
    )


def _labels(rows, columns, is_in):
    """Number the groups that links join among those that are in, in the order of `is_in`."""
    place = np.cumsum(is_in) - 1
    count = int(is_in.sum())
    if not count:
        return np.zeros(0, np.int64)
    links = coo_matrix(
        (np.ones(len(rows), np.int8), (place[rows], place[columns])), shape=(count, count)
    )
    return connected_components(links, directed=False)[1]


@dataclass(frozen=True, eq=False)
class _Part:
    """What one side sees of a region."""

    peak_mm: float
    raw_peak_mm: float
    mean_mm: float
    area_mm2: float
    place_mm: np.ndarray
    corners: np.ndarray

    @classmethod
    def of(cls, side, own):
        values, raw, areas = side.smooth_mm[own], side.raw_mm[own], side.corner_areas_mm2[own]
        top = int(np.argmax(np.abs(values)))
        return cls(
            float(values[top]),
            float(raw[np.argmax(np.abs(raw))]),
            float(np.average(values, weights=np.maximum(areas, 1e-12))),
            float(areas.sum()),
            side.vertices[own[top]],
            side.vertices[own],
        )


def _lone_regions(side, other, kind):
    """Parts of one side that have nothing of the other within reach or beside its border."""
    own = np.flatnonzero(side.face_off_mm > 0)
    if not len(own):
        return
    rows = np.repeat(side.faces[own, 0], 2)
    columns = side.faces[own, 1:].ravel()
    is_in = np.zeros(len(side.vertices), bool)
    is_in[side.faces[own].ravel()] = True
    label = _labels(rows, columns, is_in)[(np.cumsum(is_in) - 1)[side.faces[own, 0]]]
    deep = max(side.edge_mm, other.edge_mm, OFF_NOISES * max(side.noise_mm, other.noise_mm))
    for mine in _groups(own, label):
        off, areas = side.face_off_mm[mine], side.areas_mm2[mine]
        if off.max() <= deep or areas.sum() < LEAST_AREA_MM2:
            continue
        corners = side.vertices[np.unique(side.faces[mine])]
        middles = side.vertices[side.faces[mine]].mean(axis=1)
        middle = np.average(middles, axis=0, weights=areas)
        far = float(off[np.isfinite(off)].max(initial=0.0))
        yield Region(
            kind, far, far, far, float(areas.sum()),
            corners[np.argmin(np.linalg.norm(corners - middle, axis=1))], span_mm(corners),
            corners,
        )  # fmt: skip
