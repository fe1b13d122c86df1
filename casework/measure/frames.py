"""Do two scans lie in one frame and show one jaw, and do the jaws face each other?"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from scipy.spatial import cKDTree

from casework.measure.meshes import Mesh
from casework.measure.results import Measured, Quantity
from casework.measure.surfaces.aligning import radius_95
from casework.measure.surfaces.nearest import Nearest
from casework.measure.surfaces.pieces import main_pieces
from casework.measure.surfaces.placing import (
    IN_PLACE,
    MIRRORED,
    MOVED,
    SCALED,
    UNLIKE,
    Placement,
    place,
)
from casework.measure.surfaces.sampled import Sampled

METHOD = "frames 4"
_FIT = "trimmed point-to-plane registration of what both scans show"
SHIFT = Quantity("frame_shift", "largest shift between two scans of a jaw", "mm", _FIT)
TURN = Quantity("frame_turn", "turn between two scans of a jaw", "deg", _FIT)
RESIDUAL = Quantity(
    "frame_residual", "what is left between two scans of a jaw", "µm",
    "robust standard deviation of the nearest distances once they lie on each other",
)  # fmt: skip
SHARE = Quantity(
    "frame_share", "share of the smaller scan that lies on the other", "",
    "points spread by area whose nearest place is within the noise of both",
)  # fmt: skip
EARLIER_SHARE = Quantity(
    "earlier_scan_share", "share of the smaller scan that an earlier scan shows, too", "",
    SHARE.method,
)  # fmt: skip
EARLIER_RESIDUAL = Quantity(
    "earlier_scan_residual", "what is left between a scan and an earlier one", "µm",
    RESIDUAL.method,
)  # fmt: skip
FACING = Quantity(
    "jaws_facing_share", "share of the smaller jaw that faces the other", "",
    "points spread by area with the other jaw within 3 mm before them, its normal against",
)  # fmt: skip
QUANTITIES = (SHIFT, TURN, RESIDUAL, SHARE, EARLIER_SHARE, EARLIER_RESIDUAL, FACING)

APART_MM = 4.0  # of a scan body's axis: more than its radius and what it shades
FACING_MM = 3.0
FACING_COSINE = -0.3  # of the two normals
LEAST_FACING_MM2 = 15.0  # one pair of opposing molars has several times that
INSIDE_MM = 0.3  # deeper, one jaw runs into the other: more than the doubt of a bite
LEAST_INSIDE_SHARE = 0.02
FACE, CUT, APART = "facing", "running into each other", "in another frame"


@dataclass(frozen=True, eq=False)
class Framed:
    """What two scans have to do with each other; `kind` as `Placement.kind`."""

    kind: str
    sentence: str
    results: tuple[Measured, ...]
    placement: Placement


def same_frame(
    scan: Mesh,
    other: Mesh,
    *,
    subject: str,
    apart_from: np.ndarray | None = None,
    apart_mm: float = APART_MM,
    others: Mapping[str, Mesh] | None = None,
) -> Framed:
    """Return whether a scan lies where another of the same jaw does, by what both show.

    apart_from: points (k, 3) mm in the frame of `scan` (scan bodies), around which both are
    left out. others: scans by name that it may have been taken for. Places are in the frame of
    `scan`; the motion told carries `other` into it.
    """
    tree = None if apart_from is None else cKDTree(np.atleast_2d(apart_from))

    def is_left_out(points):
        return np.isfinite(tree.query(points, distance_upper_bound=apart_mm)[0])

    a, b = _sampled(other), _sampled(scan)
    found = place(a, b, is_left_out=None if tree is None else is_left_out)
    sentence = _sentence(found)
    if found.kind == UNLIKE:
        for name, mesh in (others or {}).items():
            if place(_sampled(mesh), b).kind != UNLIKE:
                sentence += f" It shows the same as {name}: was one taken for the other?"
    results = (
        _shift(subject, found, sentence, tree), _turn(subject, found, sentence),
        *_fit(subject, found, sentence, (SHARE, RESIDUAL)),
    )  # fmt: skip
    return Framed(found.kind, sentence, results, found)


def same_patient(scan: Mesh, earlier: Mesh, *, subject: str) -> Framed:
    """Return whether an earlier scan, lying anywhere, shows the same jaw as a scan."""
    found = place(_sampled(earlier), _sampled(scan))
    sentence = {
        UNLIKE: "The earlier scan shows another jaw or patient: its surface lies nowhere on "
        "this one.",
        MIRRORED: "The earlier scan is a mirror image of this one.",
        SCALED: "The earlier scan shows the same jaw in another size or unit.",
    }.get(found.kind, "The earlier scan shows the same jaw.")
    return Framed(
        found.kind, sentence,
        _fit(subject, found, sentence, (EARLIER_SHARE, EARLIER_RESIDUAL)), found,
    )  # fmt: skip


def facing(jaw: Mesh, other: Mesh, *, subject: str) -> Measured:
    """Return how much of the smaller of two jaws faces the other as they lie, and how.

    The details say `kind`: facing, running into each other, or in another frame.
    """
    a, b = _sampled(jaw), _sampled(other)
    if a.is_empty or b.is_empty:
        return FACING.not_known(subject, "One of the jaws has no surface.")
    if a.cloud.area_mm2 > b.cloud.area_mm2:
        a, b = b, a
    cloud = a.cloud
    found = Nearest(b.vertices, b.faces, FACING_MM).closest(cloud.points)
    signed = found.signed_mm
    against = np.einsum("ij,ij->i", cloud.normals, found.normals()) < FACING_COSINE
    before = found.is_found & ~found.is_on_border & against
    each = cloud.area_mm2 / len(cloud.points)
    is_facing, is_inside = before & (signed > -INSIDE_MM), before & (signed <= -INSIDE_MM)
    area, inside = float(is_facing.sum()) * each, float(is_inside.sum()) * each
    if area + inside < LEAST_FACING_MM2:
        kind, sentence = (
            APART,
            ("The jaws do not face each other: one of them lies in another frame."),
        )
    elif inside > LEAST_INSIDE_SHARE * cloud.area_mm2 and inside > 0.5 * area:
        kind, sentence = (
            CUT,
            (
                f"The jaws run into each other over {inside:.0f} mm²: they do not lie in their "
                "bite."
            ),
        )
    else:
        kind, sentence = FACE, f"The jaws face each other over {area:.0f} mm² within 3 mm."
    near = is_facing if is_facing.any() else is_inside
    return FACING.of(
        subject, area / cloud.area_mm2,
        cloud.points[near].mean(axis=0) if near.any() else None,
        kind=kind, sentence=sentence, facing_area_mm2=area, inside_area_mm2=inside,
        deepest_mm=max(float(-signed[before].min(initial=0.0)), 0.0),
    )  # fmt: skip


def _sampled(mesh):
    vertices, faces, _ = main_pieces(mesh.vertices, mesh.faces)
    return Sampled(vertices, faces)


def _shift(subject, found, sentence, tree):
    if found.kind not in (IN_PLACE, MOVED):
        return SHIFT.not_known(subject, sentence, kind=found.kind)
    shift, at, doubt = found.largest_shift()
    more = {}
    if tree is not None:
        before = found.rigid.inverse().apply(tree.data)
        more["shift_at_places_left_out_mm"] = np.linalg.norm(tree.data - before, axis=1).max()
    return SHIFT.of(
        subject, shift, at, doubt if np.isfinite(doubt) else None,
        kind=found.kind, sentence=sentence, matrix=found.rigid.matrix, **more,
    )  # fmt: skip


def _turn(subject, found, sentence):
    if found.kind not in (IN_PLACE, MOVED):
        return TURN.not_known(subject, sentence, kind=found.kind)
    doubt = None
    if found.alignment is not None and found.alignment.is_held:
        doubt = float(np.degrees(radius_95(found.alignment.turn_covariance)))
    return TURN.of(subject, found.rigid.angle_deg, uncertainty=doubt, sentence=sentence)


def _fit(subject, found, sentence, quantities):
    """The share and the residual; without a residual where they show different things."""
    share, residual = quantities
    told = share.of(
        subject, found.share,
        kind=found.kind, sentence=sentence, factor=found.factor, unit=found.unit,
        other_share=found.other_share, counts_within_mm=found.fine_mm,
        is_turned_over=found.is_turned_over,
    )  # fmt: skip
    if found.kind == UNLIKE:
        return told, residual.not_known(subject, sentence)
    return told, residual.of(subject, 1000.0 * found.spread_mm)


def _sentence(found):
    if found.kind == UNLIKE:
        return (
            "The scans do not show the same jaw: no turn and shift, no mirror image and no "
            "other unit lays half of one on the other."
        )
    if found.kind == MIRRORED:
        return "One scan is a mirror image: no turn and shift carries it onto the other."
    if found.kind == SCALED:
        unit = f", as between millimetre and {found.unit}" if found.unit else ""
        return f"One scan is the other times {1 / found.factor:.6g}{unit}."
    shift, _, doubt = found.largest_shift()
    if found.kind == IN_PLACE:
        return (
            f"Both scans lie in one frame: what both show is shifted by {shift:.3f} mm at "
            "most, which is within the doubt."
        )
    return (
        f"It is the same jaw, but moved by up to {shift:.3f} mm (± {doubt:.3f}), turned by "
        f"{found.rigid.angle_deg:.3f} degrees."
    )
