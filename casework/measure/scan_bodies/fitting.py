"""How does a form lie on the points of a scan around a round wall, and how surely?

The wall gives axis and radius; the top, or failing that the whole surface, gives the height; a
turn about the axis is tried in steps. The best beginnings are fitted point to plane, without
what lies near the form's sharp edges, which no scanner renders as they are.
"""

from dataclasses import dataclass

import numpy as np
from scipy.spatial import cKDTree

from casework.measure.scan_bodies.forms import Form
from casework.measure.scan_bodies.seeking import Cylinder, Surface
from casework.measure.surfaces.aligning import Alignment, align, radius_95
from casework.measure.surfaces.poses import Pose
from casework.measure.surfaces.sampling import spread

BEYOND_MM = 0.7  # points so far outside of the form are looked at, too
SIDE_MM = 0.25  # beside the form, where a neighbour may stand, only so far
EDGE_ZONE_MM = 0.3  # so near to a sharp edge nothing is fitted
FIRST_MM, LAST_MM = 0.6, 0.12  # cut-offs of the fit
FLAT_UP = 0.9  # the normal of a top looks along the axis
HEIGHT_STEP_MM = 0.25
TURNS = 24  # tried about the axis, where the form has a side
KEPT = 2  # beginnings that are fitted
FEW_POINTS = 2500  # for the first fit of each
START_OFF_MM = 0.13  # a beginning that lies farther off on average is none
CAP_MM = 0.3  # a point counts at most as this far off
FITS_MM = 0.12  # a point within this of the form belongs to it
ON_MM = 0.25  # a place of the form is covered if a point lies within this, or 1.5 edges
PLACE_STEP_MM = 0.4  # between the places of a form whose cover is counted
SAME_TURN_DEG = 6.0


@dataclass(frozen=True, eq=False)
class Fit:
    """A form on a scan: its pose, what the fit says of itself, and how well it covers.

    `share` of the points around that lie on the form, `covered` of the form that has points,
    `top_covered` of its level top; `worst_mm` and `worst_at` the largest patch of points that
    lie off; `rival_gap` how much worse the next best turn fits, as a share of the residual;
    `rival_deg` that turn.
    """

    form_name: str
    form: Form
    pose: Pose
    alignment: Alignment
    share: float
    covered: float
    top_covered: float
    side_covered: float
    points: int
    worst_mm: float
    worst_at_mm: np.ndarray
    rival_gap: float
    rival_deg: float
    radius_mm: float

    @property
    def rms_mm(self) -> float:
        return self.alignment.rms_mm

    @property
    def origin_95_mm(self) -> float:
        """Radius that holds 95 % of the errors of the platform's centre."""
        lever = np.zeros(3) - self.alignment.centre_mm
        cross = np.array(
            [[0, -lever[2], lever[1]], [lever[2], 0, -lever[0]], [-lever[1], lever[0], 0]]
        )
        whole = np.hstack([-cross, np.eye(3)])
        return radius_95(whole @ self.alignment.covariance @ whole.T)

    @property
    def axis_95_deg(self) -> float:
        return float(np.degrees(radius_95(self.alignment.covariance[:2, :2])))

    @property
    def rotation_95_deg(self) -> float:
        return float(np.degrees(1.96 * np.sqrt(max(self.alignment.covariance[2, 2], 0.0))))


def fit_form(surface: Surface, body: Cylinder, name: str, form: Form) -> Fit | None:
    """Return the best fit of a form on a round wall, None where it fits nowhere."""
    around = _around(surface, body, form)
    if len(around) < 60:
        return None
    points, normals = surface.vertices[around], surface.normals[around]
    starts = _starts(points, normals, body, form)
    if not starts or starts[0][0] > START_OFF_MM:
        return None
    some = _evenly(len(points), FEW_POINTS)
    tried = [_once(points[some], normals[some], pose, form) for _off_mm, pose in starts]
    tried = [one for one in tried if one is not None]
    if not tried:
        return None
    pose = min(tried, key=lambda one: one[0])[1]
    for _turn in range(2):
        found = _without_edges(points, normals, pose, form)
        if found is None:
            return None
        pose, alignment = found
    return _judged(points, normals, pose, alignment, name, form, body, surface.edge_mm)


def _around(surface, body, form):
    """Points that may lie on the body, wherever along its axis it stands."""
    away = surface.vertices - body.point_mm
    along = away @ body.axis
    across = np.sqrt(np.maximum(np.einsum("ij,ij->i", away, away) - along**2, 0.0))
    reach = form.height_mm + 1.0
    return np.flatnonzero((across < form.reach_mm + BEYOND_MM) & (np.abs(along) < reach))


def _evenly(count, most):
    return np.linspace(0, count - 1, min(count, most)).astype(int)


def _starts(points, normals, body, form):
    """The most promising poses with their mean distance: heights first, then turns."""
    found = []
    for axis in (body.axis, -body.axis):
        along = (points - body.point_mm) @ axis
        wall = _is_wall(points, normals, body, axis, form)
        if wall.sum() < 30:
            continue
        # What lies below the middle of the wall may be gum, whatever the height.
        upper = np.flatnonzero(along > np.quantile(along[wall], 0.3))
        few, more = (points[upper[_evenly(len(upper), k)]] for k in (250, 500))
        heights = _heights(points, normals, body, axis, wall, form)
        first = Pose.of(body.point_mm, axis)
        best = sorted(
            (min(_off(few, _turned(first, height, turn), form) for turn in _turns(form, 4)), k)
            for k, height in enumerate(heights)
        )[:2]
        for _value, k in best:
            for turn in _turns(form, TURNS):
                pose = _turned(first, heights[k], turn)
                found.append((_off(more, pose, form), len(found), pose))
    found.sort(key=lambda one: one[:2])
    kept = []
    for value, _k, pose in found:
        if all(
            np.linalg.norm(pose.origin_mm - one[1].origin_mm) > 0.1
            or pose.toward @ one[1].toward < 0.85
            for one in kept
        ):
            kept.append((value, pose))
        if len(kept) == KEPT:
            break
    return kept


def _turns(form, count):
    if form.turns == 0:
        return np.zeros(1)
    return np.arange(count) * (2 * np.pi / form.turns / count)


def _turned(first, height, turn):
    across = np.cross(first.axis, first.toward)
    toward = np.cos(turn) * first.toward + np.sin(turn) * across
    return Pose(first.origin_mm + height * first.axis, first.axis, toward)


def _is_wall(points, normals, body, axis, form):
    away = points - body.point_mm
    across = np.linalg.norm(away - (away @ axis)[:, None] * axis, axis=1)
    return (np.abs(normals @ axis) < 0.35) & (np.abs(across - form.wall_radius_mm) < 0.3)


def _heights(points, normals, body, axis, wall, form):
    """Where the platform may lie along the axis: by level tops, then by the wall's end."""
    away = points - body.point_mm
    along, facing = away @ axis, normals @ axis
    high = np.quantile(along[wall], 0.99)
    across = np.linalg.norm(away - along[:, None] * axis, axis=1)
    top = along[(facing > FLAT_UP) & (across < form.reach_mm) & (along > high - 2.5)]
    found = []
    if len(top):
        counts, edges = np.histogram(top, np.arange(top.min(), top.max() + 0.2, 0.1))
        tall = np.argsort(-counts, kind="stable")[:3]
        found = [edges[k] + 0.05 - form.height_mm for k in tall if counts[k] >= 8]
    steps = np.arange(-0.25, 3.1, HEIGHT_STEP_MM)
    return np.array([*found, *(high - form.height_mm + steps)])


def _off(points, pose, form):
    """Mean distance of points from a form, each capped."""
    found = form.nearest.closest(pose.to_local(points), CAP_MM)
    return float(np.minimum(found.distance_mm, CAP_MM).mean())


def _once(points, normals, pose, form):
    """One coarse fit: (mean distance, pose)."""
    found = _aligned(points, normals, pose, form, FIRST_MM, None)
    if found is None:
        return None
    return _off(points, found[0], form), found[0]


def _without_edges(points, normals, pose, form):
    """One fine fit, without points near sharp edges of the form."""
    used = np.ones(len(points), bool)
    if len(form.edge_points):
        local = pose.to_local(points)
        used = _edge_tree(form).query(local, distance_upper_bound=EDGE_ZONE_MM)[0] == np.inf
    return _aligned(points, normals, pose, form, 2 * LAST_MM, used)


def _aligned(points, normals, pose, form, first_mm, used):
    local = pose.to_local(points)
    mine = (local[:, 2] > 0.3) & (local[:, 2] < form.height_mm + BEYOND_MM)
    if used is not None:
        mine &= used
    if mine.sum() < 40:
        return None
    found = align(
        points[mine], normals[mine], form.nearest, pose.rigid.inverse(),
        first_cutoff_mm=first_mm, last_cutoff_mm=LAST_MM,
    )  # fmt: skip
    if found is None:
        return None
    back = found.rigid.inverse()
    return Pose(back.shift_mm, back.rotation[:, 2], back.rotation[:, 0]), found


def _edge_tree(form):
    return form.__dict__.setdefault("_tree", cKDTree(form.edge_points))


def _judged(points, normals, pose, alignment, name, form, body, edge_mm):
    local = pose.to_local(points)
    found = form.nearest.closest(local)
    seen = _seen(local, found, form)
    fits = seen & (found.distance_mm < FITS_MM)
    covered, top, side = _covered(local[fits], form, edge_mm)
    worst, at = _worst(points[seen & ~fits], found.distance_mm[seen & ~fits])
    gap, turn = _rival(points[seen], pose, form)
    return Fit(
        form_name=name,
        form=form,
        pose=pose,
        alignment=alignment,
        share=float(fits.sum() / max(seen.sum(), 1)),
        covered=covered,
        top_covered=top,
        side_covered=side,
        points=int(fits.sum()),
        worst_mm=worst,
        worst_at_mm=pose.origin_mm if at is None else at,
        rival_gap=gap,
        rival_deg=turn,
        radius_mm=body.radius_mm,
    )


def _seen(local, found, form):
    """Points that should lie on the form: above the gum around it, as far as it is wide.

    The gum meets the wall somewhere; up to half a millimetre above the lowest fitting points of
    each eighth around, nothing is expected of the form.
    """
    across = np.hypot(local[:, 0], local[:, 1])
    fits = found.distance_mm < FITS_MM
    eighth = np.floor((np.arctan2(local[:, 1], local[:, 0]) + np.pi) / (np.pi / 4)).astype(int)
    eighth = np.clip(eighth, 0, 7)
    low = np.full(8, np.inf)
    for k in range(8):
        mine = local[fits & (eighth == k) & (local[:, 2] > 0.5), 2]
        if len(mine) >= 12:
            low[k] = np.quantile(mine, 0.03) + 0.5
    return (
        (local[:, 2] > low[eighth])
        & (local[:, 2] < form.height_mm + BEYOND_MM)
        & (across < form.reach_mm + SIDE_MM)
    )


def _covered(local, form, edge_mm):
    """Share of the form, of its level top and of its side that has points near."""
    places, face = spread(form.vertices, form.faces, PLACE_STEP_MM)
    above = places[:, 2] > 1.0  # what may lie under the gum is still counted
    near = max(ON_MM, 1.5 * edge_mm)
    if len(local):
        on = cKDTree(local).query(places, distance_upper_bound=near)[0] < near
    else:
        on = np.zeros(len(places), bool)
    weight = form.areas[face] / np.bincount(face, minlength=len(form.faces))[face]
    normals = form.normals[face]
    middle = np.hypot(places[:, 0], places[:, 1])
    round_wall = np.abs(middle - form.wall_radius_mm) < 0.02
    kinds = (
        above,
        above & (normals[:, 2] > FLAT_UP),
        above & ~round_wall & (normals[:, 2] < 0.5),
    )
    return tuple(_share(on[kind], weight[kind]) for kind in kinds)


def _share(on, weight):
    return float(weight[on].sum() / weight.sum()) if weight.sum() > 0 else 0.0


def _worst(points, distance):
    """The distance of the largest patch of points that lie off, and its middle."""
    if len(points) < 12:
        return 0.0, None
    distance = np.minimum(distance, 1.5)
    k = int(np.argsort(distance)[int(0.9 * len(distance))])
    return float(distance[k]), points[k]


def _rival(points, pose, form):
    """How much worse the next best turn about the axis fits, and which it is."""
    if form.turns == 0 or not len(points):
        return 0.0, 0.0
    period = 360.0 / form.turns
    some = points[_evenly(len(points), 600)]
    base = _off(some, pose, form)
    turns = np.arange(SAME_TURN_DEG, period - SAME_TURN_DEG + 0.1, period / 36)
    values = [_off(some, _turned(pose, 0.0, np.radians(turn)), form) for turn in turns]
    k = int(np.argmin(values))
    return float((values[k] - base) / max(base, 1e-4)), float(turns[k])
