"""How does a restoration sit: gap to its abutment, gap at the margin, contact to neighbours?

Gaps are signed nearest distances between the two surfaces as they are given: positive where
there is room, negative where one part reaches into the other. At the margin two figures are
told apart (J. R. Holmes, S. C. Bayne, G. A. Holland and W. D. Sulik, Considerations in
measurement of marginal fit, Journal of Prosthetic Dentistry 1989; cited from memory): the
marginal gap, from the abutment's margin to the nearest surface of the restoration, and the
absolute discrepancy, from the edge of the restoration to the abutment's margin.
"""

import numpy as np
from scipy.spatial import cKDTree

from casework.measure.post_reading import WALL
from casework.measure.results import AT_LEAST, Measured, Quantity
from casework.measure.retainers import Restoration, Retainer
from casework.measure.surfaces.nearest import Closest, Nearest
from casework.measure.surfaces.normals import face_areas, vertex_normals
from casework.measure.surfaces.pieces import compacted, main_pieces
from casework.measure.surfaces.places import even_places_on, places_on
from casework.measure.surfaces.smoothing import smoothed

CONTACT_REACH_MM = 2.0  # farther away there is no contact, but a gap between teeth
CONTACT_UPPER = 0.55  # of the height: below it gum, not teeth, is beside a crown
CONTACT_END_MM = 3.0  # how far back from its end a unit is looked at
SIDEWAYS = 0.5  # cosine of a face that looks toward the neighbour: 60 degrees
AGAINST = -0.3  # cosine between the normals of two surfaces in contact
CLOSE_MM = 0.05  # the area within this of the neighbour is told
LEFT_NOISE = 0.35  # share of a scan's noise that its smoothing leaves, about

CEMENT_GAP = Quantity(
    "cement_gap", "Gap between restoration and abutment", "mm",
    "area-weighted median of the signed distance from the intaglio to the abutment",
)  # fmt: skip
LEAST_GAP = Quantity(
    "least_gap", "Least gap, negative where the parts interfere", "mm",
    "least signed distance from intaglio and seat to the abutment, inside it along its normals",
)  # fmt: skip
MARGINAL_GAP = Quantity(
    "marginal_gap", "Largest gap along the margin", "mm",
    "signed distance from the abutment's margin line to the restoration",
)  # fmt: skip
CONTACT = Quantity(
    "contact", "Gap to the neighbouring tooth, negative where they overlap", "mm",
    "least signed distance of the proximal surface to the lightly smoothed scan",
)  # fmt: skip
QUANTITIES = (CEMENT_GAP, LEAST_GAP, MARGINAL_GAP, CONTACT)


def seat_fit(whole: Restoration, site: str) -> list[Measured]:
    """Return cement gap, least gap and marginal gap of the retainer at a site."""
    retainer = whole.retainers[site]
    if not retainer.is_found:
        return [
            quantity.not_known(site, retainer.because)
            for quantity in (CEMENT_GAP, LEAST_GAP, MARGINAL_GAP)
        ]
    return [
        *_gaps(whole, retainer, site),
        _marginal_gap(whole, retainer, site),
    ]


def gap_field(whole: Restoration) -> np.ndarray:
    """Return of each vertex (m,) of a restoration its signed gap to the abutment, in mm.

    nan away from every intaglio and seat.
    """
    field = np.full(len(whole.nearest.vertices), np.nan)
    for retainer in whole.retainers.values():
        if retainer.is_found:
            inner = np.concatenate([retainer.intaglio, retainer.seat])
            mine = np.unique(whole.nearest.faces[inner])
            found = retainer.post.nearest.closest(whole.nearest.vertices[mine])
            field[mine] = np.where(found.is_found, found.signed_mm, np.nan)
    return field


def _gaps(whole, retainer, site):
    """Distribution of the gap over the intaglio, and its least."""
    abutment = retainer.post.nearest
    places, area = even_places_on(whole.nearest, retainer.intaglio)
    found = abutment.closest(places.point_mm)
    gap, area = found.signed_mm[found.is_found], area[found.is_found]
    order = np.argsort(gap)
    share = (np.cumsum(area[order]) - area[order] / 2) / area.sum()
    p5, median, p95 = np.interp([0.05, 0.5, 0.95], share, gap[order])
    sure = _sagitta(whole.nearest, retainer.intaglio) + _sagitta(
        abutment, retainer.post.faces_of(WALL)
    )
    typical = order[np.searchsorted(share, 0.5)]
    overlap = float(area[gap < 0].sum())
    least, place = _least(whole, retainer)
    return (
        CEMENT_GAP.of(
            site, median, places.point_mm[found.is_found][typical], sure,
            p5_mm=p5, p95_mm=p95, least_mm=least, most_mm=gap[order[-1]],
            area_mm2=area.sum(), **retainer.post.source(),
        ),
        LEAST_GAP.of(site, least, place, sure, overlap_area_mm2=overlap),
    )  # fmt: skip


def _least(whole, retainer):
    """The least signed distance of intaglio and seat to the abutment, and where."""
    inner = np.concatenate([retainer.intaglio, retainer.seat])
    places = places_on(whole.nearest, inner)
    gap = _along_normals(retainer.post.nearest.closest(places.point_mm))
    at = int(np.argmin(gap))
    return gap[at], places.point_mm[at]


def _along_normals(found: Closest):
    """Signed distances (k,); inside, near an edge that runs inward, the depth under a face.

    There the edge itself is farther away than the planes of both faces are, and it is along
    them that the parts are in each other's way.
    """
    gap = found.signed_mm.copy()
    surface = found.surface
    at = np.flatnonzero((gap < 0) & (found.feature > 0))
    if not len(at):
        return gap
    face, feature = found.face[at], found.feature[at].astype(int)
    corner = surface.faces[face, (feature - 1) % 3]
    starts, held = _faces_at(surface.faces, len(surface.vertices))
    for k, here in enumerate(at):
        if feature[k] <= 3:
            around = np.array([face[k], surface.across[face[k], feature[k] - 1]])
            around = around[around >= 0]
        else:
            around = held[starts[corner[k]] : starts[corner[k] + 1]]
        away = found.points[here] - found.point_mm[here]
        depth = surface.face_normals[around] @ away
        gap[here] = max(gap[here], depth[depth < 0].max(initial=gap[here]))
    return gap


def _faces_at(faces, vertex_count):
    """The faces at each vertex: starts (m + 1,) and their numbers."""
    order = np.argsort(faces.reshape(-1), kind="stable")
    starts = np.concatenate(
        [[0], np.cumsum(np.bincount(faces.reshape(-1), minlength=vertex_count))]
    )
    return starts, order // 3


def _sagitta(nearest, faces):
    """How far flat triangles may be from the curved surface that they stand for, in mm.

    A chord of length L across which the normal turns by t is L t / 8 from its arc.
    """
    across = nearest.across[faces]
    row, corner = np.nonzero((across >= 0) & np.isin(across, faces))
    if not len(row):
        return 0.0
    normals = nearest.face_normals
    one, two = faces[row], across[row, corner]
    turn = np.arccos(np.clip(np.einsum("ij,ij->i", normals[one], normals[two]), -1, 1))
    middles = nearest.vertices[nearest.faces].mean(axis=1)
    length = np.linalg.norm(middles[one] - middles[two], axis=1)
    return float(np.median((length * turn / 8)[turn > 1e-6])) if (turn > 1e-6).any() else 0.0


def _marginal_gap(whole, retainer: Retainer, site):
    post = retainer.post
    if not post.is_found:
        return MARGINAL_GAP.not_known(site, post.because)
    found = whole.nearest.closest(post.margin_mm)
    gap = np.where(found.is_found, found.signed_mm, whole.nearest.reach_mm)
    at = int(np.argmax(gap))
    details = {
        "median_mm": np.median(gap),
        "least_mm": gap.min(),
        "margin_is": post.source()["margin_is"],
    }
    if not found.is_found.all():
        details["reads"] = AT_LEAST
    if len(retainer.edge_mm):
        edge = retainer.edge_mm.mean(axis=1)
        steps = np.linspace(0, 1, 8, endpoint=False)[:, None]
        ends = np.roll(post.margin_mm, -1, axis=0)
        line = post.margin_mm[:, None] * (1 - steps) + ends[:, None] * steps
        away = cKDTree(line.reshape(-1, 3)).query(edge)[0]
        worst = int(np.argmax(away))
        details |= {
            "absolute_discrepancy_median_mm": np.median(away),
            "absolute_discrepancy_most_mm": away[worst],
            "absolute_discrepancy_place_mm": edge[worst],
        }
    return MARGINAL_GAP.of(site, gap[at], post.margin_mm[at], post.spread_mm, **details)


class Neighbours:
    """The scan of the working jaw, ready to be asked for the neighbours of several parts."""

    def __init__(self, vertices: np.ndarray, faces: np.ndarray):
        self.vertices, self.faces, self.dropped = main_pieces(vertices, faces)

    def near(self, points: np.ndarray) -> tuple[Nearest, Nearest, float] | None:
        """The scan around some points: raw, smoothed, and the noise that smoothing took off."""
        margin = CONTACT_REACH_MM + 1.0
        low, high = points.min(axis=0) - margin, points.max(axis=0) + margin
        inside = ((self.vertices > low) & (self.vertices < high)).all(axis=1)
        faces = self.faces[inside[self.faces].all(axis=1)]
        if not len(faces):
            return None
        vertices, faces = compacted(self.vertices, faces)
        smooth = smoothed(vertices, faces)
        moved = np.einsum("ij,ij->i", vertices - smooth, vertex_normals(smooth, faces))
        noise = 1.4826 * float(np.median(np.abs(moved)))  # robust standard deviation
        return (
            Nearest(vertices, faces, CONTACT_REACH_MM),
            Nearest(smooth, faces, CONTACT_REACH_MM),
            noise,
        )


def contact(
    vertices: np.ndarray,
    faces: np.ndarray,
    neighbours: Neighbours,
    subject: str,
    side: str,
    toward: np.ndarray,
    occlusal: np.ndarray,
) -> Measured:
    """Return the gap of a restoration to the tooth beside it, on one side.

    `side` is "mesial" or "distal", `toward` (3,) the direction of that side at the unit that
    ends there, `occlusal` (3,) away from the gum.
    """
    part = Nearest(vertices, faces, CONTACT_REACH_MM)
    proximal = _proximal(part, np.asarray(toward, float), np.asarray(occlusal, float))
    none = CONTACT.not_known(
        subject,
        f"No tooth stands within {CONTACT_REACH_MM:g} mm on the {side} side.",
        side=side,
        nothing_there=True,
    )
    if not len(proximal):
        return none
    places, area = even_places_on(part, proximal)
    scan = neighbours.near(places.point_mm)
    if scan is None:
        return none
    raw, smooth, noise = scan
    corners = places_on(part, proximal)
    gap, there = _against(corners, smooth)
    if not np.isfinite(gap).any():
        return none
    at = int(np.argmin(gap))
    even_gap, _ = _against(places, smooth)
    return CONTACT.of(
        subject, gap[at], corners.point_mm[at], 2 * LEFT_NOISE * noise,
        side=side, raw_mm=_against(corners, raw)[0].min(), on_neighbour_mm=there[at],
        overlap_area_mm2=area[even_gap < 0].sum(), area_within_50_um_mm2=area[
            even_gap < CLOSE_MM
        ].sum(),
        noise_um=1000 * noise, dropped_piece_count=len(neighbours.dropped),
    )  # fmt: skip


def _proximal(part, toward, occlusal):
    """The faces that look toward the neighbour, at that end and in the upper part."""
    if not len(part.faces):
        return np.zeros(0, int)
    middles = part.vertices[part.faces].mean(axis=1)
    height, along = middles @ occlusal, part.vertices @ toward
    low, high = height.min(), height.max()
    return np.flatnonzero(
        (part.face_normals @ toward > SIDEWAYS)
        & (height > low + CONTACT_UPPER * (high - low))
        & (middles @ toward > along.max() - CONTACT_END_MM)
        & (face_areas(part.vertices, part.faces) > 0)
    )


def _against(places, scan):
    """Signed distances (k,) to what looks at the places, inf elsewhere, and where it is."""
    found = scan.closest(places.point_mm)
    meets = np.einsum("ij,ij->i", places.normal, found.normals()) < AGAINST
    is_there = found.is_found & meets & ~found.is_on_border
    return np.where(is_there, found.signed_mm, np.inf), found.point_mm
