"""What became of a surface: raw scan to processed scan, version to version, design to part?"""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

import numpy as np

from casework.measure.change_values import (
    ADDED,
    AGREEMENT,
    CHANGED,
    IDENTICAL,
    LARGEST,
    LOST,
    MOTION,
    NEAR,
    SAME,
    Told,
)
from casework.measure.meshes import Mesh
from casework.measure.results import Measured, Quantity
from casework.measure.surfaces.differing import (
    INVENTED,
    LEAST_CHANGE_MM,
    MISSING,
    regions,
    seen_from,
)
from casework.measure.surfaces.placing import (
    IN_PLACE,
    UNLIKE,
    Placement,
    place,
)
from casework.measure.surfaces.poses import Pose, Rigid
from casework.measure.surfaces.refining import refined
from casework.measure.surfaces.sampled import Sampled
from casework.measure.topology import groups

METHOD = "change 4"
BODY_SHIFT = Quantity(
    "scan_body_shift", "shift of a scan body", "µm", "its pose in both scans compared"
)
BODY_TURN = Quantity(
    "scan_body_turn", "turn of a scan body's axis", "deg", "its pose in both scans compared"
)
QUANTITIES = (BODY_SHIFT, BODY_TURN)

LEAST_SHARE = 0.02  # of the area of a scan; smaller pieces are scatter and left out
REFINED_MM = 0.5  # surfaces of larger triangles are cut so that each place is asked
NEAR_MM = 3.0


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
    if found.kind == IN_PLACE:
        found = replace(found, rigid=Rigid.none())
    sides = _sides(old, new, found)
    parts = regions(*sides, least_mm)
    kind = found.kind
    if kind == IN_PLACE:
        kind = CHANGED if parts else SAME
    told = Told(subject, kind, found, *sides, parts, least_mm)
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


def scan_body_moved(
    site: str, before: Pose, after: Pose, motion: Rigid | None = None, doubt_um=None
) -> tuple[Measured, Measured]:
    """Return how far a scan body's origin and axis moved from one scan to the other.

    motion: how the whole scan moved from the first to the second, undone first; doubt_um: half
    the 95 % interval of the shift, from the poses.
    """
    old = before if motion is None else before.moved(motion)
    vector_um = 1000.0 * (after.origin_mm - old.origin_mm)
    sine = np.linalg.norm(np.cross(old.axis, after.axis))
    turn = float(np.degrees(np.arctan2(sine, old.axis @ after.axis)))
    shift = BODY_SHIFT.of(
        site, float(np.linalg.norm(vector_um)), after.origin_mm, doubt_um,
        vector_um=vector_um, along_axis_um=float(vector_um @ old.axis),
    )  # fmt: skip
    return shift, BODY_TURN.of(site, turn, after.origin_mm)


def _are_identical(before, after):
    return (
        before.faces.shape == after.faces.shape
        and before.vertices.shape == after.vertices.shape
        and np.array_equal(before.faces, after.faces)
        and np.array_equal(before.vertices, after.vertices)
    )


def _prepared(mesh, drops_islands):
    """The surface to compare, its vertices first those of the mesh; and what was left out."""
    surface = Sampled(mesh.vertices, mesh.faces)
    dropped = {"pieces": 0, "area_mm2": 0.0}
    faces = surface.faces
    if drops_islands and len(faces):
        group, count = groups(
            np.concatenate([faces[:, 0], faces[:, 1]]),
            np.concatenate([faces[:, 1], faces[:, 2]]),
            len(surface.vertices),
        )
        piece = group[faces[:, 0]]
        areas = np.bincount(piece, surface.areas_mm2, count)
        keeps = areas >= LEAST_SHARE * areas.sum()
        keeps[np.argmax(areas)] = True
        dropped = {"pieces": int((~keeps).sum()), "area_mm2": float(areas[~keeps].sum())}
        if not keeps.all():
            surface = surface.part(keeps[piece])
    finer = refined(surface.vertices, surface.faces, REFINED_MM)
    if finer[1] is surface.faces:
        return surface, dropped
    cut = Sampled(*finer)
    cut.noise_mm = surface.noise_mm  # the triangles cut are flat, as if there were none
    return cut, dropped


def _sides(old, new, found):
    """Both surfaces, each as the other sees it, in the frame of the later one."""
    if found.factor != 1.0:
        old = Sampled(old.vertices * found.factor, old.faces)
    placed = old.vertices if found.kind == IN_PLACE else found.rigid.apply(old.vertices)
    before = seen_from(old, new, found.rigid, placed, -1.0)
    return before, seen_from(new, old, found.rigid.inverse(), new.vertices, 1.0)


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
