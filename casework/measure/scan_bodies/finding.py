"""Which scan bodies are in a scan, where exactly, how surely, and what is wrong with them?"""

from dataclasses import dataclass

import numpy as np

from casework.measure.scan_bodies.forms import Form
from casework.measure.scan_bodies.judging import (
    AXIS_DEG,
    LIKE_BODY_MM2,
    LIKE_BODY_OFF_MM,
    LIKE_BODY_SHARE,
    MISFIT_MM,
    MISFIT_OF_NOISE,
    Body,
    is_form,
    is_own_spread,
    judged,
)
from casework.measure.scan_bodies.laying import ON_MM, Known, Laid, lay
from casework.measure.scan_bodies.scans import prepared
from casework.measure.scan_bodies.telling import Found
from casework.measure.scan_bodies.voting import is_passing, lines
from casework.measure.scan_bodies.walling import Line
from casework.measure.surfaces.pieces import compacted

CLICK_MM = 13.0  # around a point that somebody pointed at
POINTED_MM = 1.0  # so far beside a scan body somebody may point
SHARED = 0.5  # of the surface that one body lies on: two bodies have each their own
SAME_MM = 1.5  # axes nearer than this, amid the body, are of one body
ALONG_COSINE = 0.98  # lines nearer than 11 degrees to the axis run along it
NEARLY = 0.9  # a form with so much of the best one's area may be the one
ALIKE, ALIKE_MM = 1.05, 0.005  # what lies no farther off than from the nearest fits as well
OTHER_WALL_MM2, OTHER_MISS, OTHER_WIDTH_MM = 25.0, 0.08, 0.06  # of a round body of no form


@dataclass(frozen=True, eq=False)
class Doubtful:
    """Something like a scan body that no form fits: where, how wide, and why not."""

    place_mm: np.ndarray
    axis: np.ndarray
    diameter_mm: float
    because: str


@dataclass(frozen=True, eq=False)
class ScanBodies:
    """What was found, what is like a scan body but is none of the forms, what was left out."""

    found: tuple[Found, ...]
    doubtful: tuple[Doubtful, ...]
    dropped: tuple[dict, ...] = ()


def find_scan_bodies(
    vertices: np.ndarray, faces: np.ndarray, forms: dict[str, Form], near_mm=None
) -> ScanBodies:
    """Return the scan bodies of a scan (m, 3), (n, 3) in mm, without a click or near points.

    Every form is laid wherever walls as its own may stand; where several lie on one body, the
    best is taken. `near_mm` (k, 3) leaves out what is farther than 13 mm from all of them.
    They come in the order of how much of them is seen.
    """
    if not forms:
        raise ValueError("a scan body is found by its form; name one")
    if not len(faces):
        return ScanBodies((), ())
    near = None if near_mm is None or not len(near_mm) else np.atleast_2d(near_mm)
    if near is not None:
        vertices, faces = _cropped(vertices, faces, near)
    scan = prepared(vertices, faces)
    tried = list(_tried(scan, forms, near))
    found, doubtful = [], []
    for group in _groups(_laid(scan, tried)):
        body = _found(group)
        if body is not None:
            found.append(body)
        elif doubt := _unlike(group):
            doubtful.append(doubt)
    for line, known in tried:
        if doubt := _of_no_form(line, known.form):
            doubtful.append(doubt)
    return ScanBodies(tuple(found), _apart(doubtful, found), tuple(scan.dropped))


def _cropped(vertices, faces, near):
    """The surface around the points (k, 3) that somebody pointed at."""
    keep = np.zeros(len(vertices), bool)
    for point in near:
        away = vertices - point
        keep |= np.einsum("ij,ij->i", away, away) < CLICK_MM**2
    return compacted(vertices, faces[keep[faces].all(axis=1)])


def _tried(scan, forms, near):
    """Every form with every line on which it may stand; forms with equal walls share lines.

    Near points (k, 3) leave out lines that pass none so nearly that it may lie on the form.
    """
    held = {}
    widest_mm = max(form.reach_mm for form in forms.values())
    for name, form in forms.items():
        walls, within_mm = form.walls_mm.round(3).tobytes(), form.reach_mm + POINTED_MM
        if walls not in held:
            # A line is not yet settled when it is left out.
            held[walls] = lines(scan, form, near, widest_mm + 2 * POINTED_MM)
        mine = [
            line
            for line in held[walls]
            if near is None or is_passing(line.point_mm, line.axis, near, within_mm)
        ]
        known = Known.of(name, form) if mine else None
        for line in mine:
            yield line, known


def _laid(scan, tried):
    """Every form laid on its lines, but for those amid its own body, on which it lies."""
    laid = []
    for line, known in tried:
        if not any(one.known is known and _holds(one, line) for one in laid):
            one = lay(scan, line, known)
            laid += [] if one is None else [one]
    return laid


def _holds(laid, line):
    """Is the form the one of its body, and the middle of a line's wall amid it?"""
    local = laid.pose.to_local(line.point_mm[None])[0]
    is_amid = np.hypot(*local[:2]) < SAME_MM and 0.0 < local[2] < laid.known.form.height_mm
    # Along it run the axes that other walls of the form would have there.
    is_across = abs(laid.pose.axis @ line.axis) < ALONG_COSINE
    return is_amid and is_across and is_form(laid) and is_own_spread(laid)


def _groups(laid: list[Laid]):
    """Forms that lie on the same body, the best body first."""
    groups = []
    for one in sorted(laid, key=_worth, reverse=True):
        for group in groups:
            if _is_same_body(one, group[0]):
                group.append(one)
                break
        else:
            groups.append([one])
    return groups


def _worth(laid):
    return (is_form(laid), laid.seen.worth_mm2 * laid.seen.fits_share)


def _is_same_body(one, other):
    """Does the middle of one stand in the other, or is it the other's surface that it lies on?

    A form of level sides lies on the corner of its own body across it, too.
    """
    if _stands_in(one, other):
        return True
    points = other.pose.to_local(one.pose.to_world(one.seen.points[one.seen.is_on]))
    found = other.known.form.nearest.closest(points)
    return (found.is_found & (found.distance_mm < ON_MM)).sum() > SHARED * len(points)


def _stands_in(one, other):
    """Does the middle of one stand in the other?"""
    middle = one.pose.origin_mm + 0.6 * one.known.form.height_mm * one.pose.axis
    local = other.pose.to_local(middle[None])[0]
    return np.hypot(*local[:2]) < SAME_MM and -2.0 < local[2] < other.known.form.height_mm + 2.0


def _found(group):
    """The best form of those on one body that is its own; None where none is."""
    fitting = [one for one in group if is_form(one)]
    if not fitting:
        return None
    most = max(_worth(one)[1] for one in fitting)
    rivals = {}
    for one in fitting:
        if _worth(one)[1] > NEARLY * most and one.known.name not in rivals:
            body = judged(one)
            if body.laid.axis_95_deg < AXIS_DEG and is_own_spread(body.laid):
                rivals[one.known.name] = body
    if not rivals:
        return None
    alike = _alike(list(rivals.values()))
    clean = [body for body in alike if not body.problem] or alike
    best = clean[0]
    others = [body.laid.known.name for body in clean[1:]]
    return _told(best, tuple(others))


def _alike(bodies):
    """Those, now turned as they should be, from which what is seen lies no farther off."""
    most = max(_worth(body.laid)[1] for body in bodies)
    bodies = [body for body in bodies if _worth(body.laid)[1] > NEARLY * most]
    least_mm = min(body.laid.seen.off_rms_mm for body in bodies)
    reach_mm = np.hypot(ALIKE * least_mm, ALIKE_MM)
    alike = [body for body in bodies if body.laid.seen.off_rms_mm < reach_mm]
    return sorted(alike, key=lambda body: -_worth(body.laid)[1])


def _told(body: Body, also_fits):
    laid, turn = body.laid, body.turn
    seen = laid.seen
    return Found(
        form=laid.known.name,
        pose=laid.pose,
        residual_rms_um=1000 * laid.alignment.rms_mm,
        noise_um=1000 * seen.spreads_mm[0],
        covered_share=body.covered_share,
        top_covered_share=body.top_covered_share,
        fits_share=seen.fits_share,
        point_count=int(seen.is_on.sum()),
        origin_95_um=None if body.height_because else 1000 * laid.origin_95_mm,
        axis_95_deg=laid.axis_95_deg,
        rotation_95_deg=None if turn.because else laid.rotation_95_deg,
        rotation_because=turn.because,
        height_because=body.height_because,
        second_turn_gap=turn.gap,
        second_turn_deg=turn.rival_deg,
        problem=body.problem,
        also_fits=also_fits,
    )


def _unlike(group):
    """Is the best form on a body that is no form's own a body all the same?"""
    best = group[0]
    if best.seen.worth_mm2 < LIKE_BODY_MM2 or best.seen.fits_share < LIKE_BODY_SHARE:
        return None
    body = judged(best)
    most = MISFIT_MM + MISFIT_OF_NOISE * best.seen.spreads_mm[0]
    off = max((abs(side.offset_mm) for side in body.deviations.sides), default=0.0)
    if not body.told or body.deviations.misfit_mm > most or off > LIKE_BODY_OFF_MM:
        return None
    return Doubtful(
        best.pose.to_world(np.array([[0, 0, 0.6 * best.known.form.height_mm]]))[0],
        best.pose.axis,
        _width(body),
        f"A body like {best.known.name} stands there, but {'; '.join(body.told)}. It is of"
        " another kind or system, and its pose is not taken from this form.",
    )


def _width(body):
    walls = [side for side in body.deviations.sides if side.kind == "wall"]
    if not walls:
        return 2 * body.laid.known.form.wall_radius_mm
    most = max(walls, key=lambda side: side.seen_mm2)
    return 2 * (most.radius_mm + most.offset_mm)


def _of_no_form(line: Line, form: Form):
    """A round wall that plainly stands there, whatever the form says; None where none does."""
    against = line.miss_mm2 + line.inside_mm2
    if len(form.walls_mm) > 1 or line.wall_mm2 < OTHER_WALL_MM2:
        return None
    if against > OTHER_MISS * line.wall_mm2:
        return None
    wide = 2 * form.wall_radius_mm
    stands = wide + 2 * line.wider_mm
    why = (
        f"the form is {wide:.2f} mm wide. It is of another kind or system."
        if abs(line.wider_mm) > OTHER_WIDTH_MM
        else "that is the form's width, but its other sides do not fit the form. It is of"
        " another kind or system, or too little of it is in the scan."
    )
    because = f"A round body {stands:.2f} mm wide stands there; {why}"
    return Doubtful(line.point_mm, line.axis, stands, because)


def _apart(doubtful, found):
    """Doubtful bodies once each, none where a body was found."""
    kept = []
    for one in doubtful:
        places = [(body.pose.origin_mm, body.pose.axis) for body in found]
        places += [(other.place_mm, other.axis) for other in kept]
        across = (one.place_mm - place for place, _axis in places)
        away = (
            np.linalg.norm(off - (off @ axis) * axis)
            for off, (_place, axis) in zip(across, places, strict=True)
        )
        if all(distance > SAME_MM for distance in away):
            kept.append(one)
    return tuple(kept)
