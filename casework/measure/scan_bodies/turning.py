"""Is the turn of a fitted form about its axis the only one that its points allow?"""

from dataclasses import dataclass

import numpy as np

from casework.measure.scan_bodies.laying import (
    ALL,
    EDGE_ZONE_MM,
    FEW_POINTS,
    TURN,
    Laid,
    settle,
)
from casework.measure.surfaces.poses import Pose

STEP_DEG = 5.0
OTHER_DEG = 10.0  # a turn that differs less is the same
RIVALS = 3  # turns that are looked at closely
THINNED = 3  # every so-many-th point is enough to see where other turns may lie
MOST_SPREADS = 4.0  # a distance of more spreads of the noise counts no more than this
LEAST_SPREAD_MM = 0.005
SURE = 14.0  # log of how many times likelier the turn must be than any other: a million
LOOSE_DEG = 5.0  # a turn known less well than this is not known


@dataclass(frozen=True, eq=False)
class Turn:
    """The form with its best turn; the next best, and how much likelier (log) the best is.

    `because` says why the turn is not known; empty where it is. `gap` is infinite for a form
    that has no other turn.
    """

    laid: Laid
    rival_deg: float
    gap: float
    because: str


def turned(laid: Laid, moves: tuple[int, ...] = ALL) -> Turn:
    """Return the form with the turn that its points make the likeliest, and how surely.

    `moves` is what may move in a fit, as for `settle`.
    """
    form = laid.known.form
    if form.turns == 0:
        return Turn(
            laid, 0.0, 0.0,
            "The form is round: no side of it tells how it is turned.",
        )  # fmt: skip
    rival, gap = _rival(laid, moves)
    if gap < 0 and (better := _fitted(laid.around, rival.pose, laid.known, moves)):
        laid, (rival, gap) = better, _rival(better, moves)
    angle = 0.0 if rival is None else _turn_between(laid.pose, rival.pose)
    is_held = 0 < laid.rotation_95_deg < LOOSE_DEG  # zero: it would not have stayed
    if gap < SURE or not is_held:
        fixed = settle(laid.around, laid.pose, laid.known, _held(moves)) or laid
        told = f"a turn by {angle:.0f}° fits as well" if gap < SURE else "no side of it holds"
        return Turn(
            fixed, angle, gap,
            f"The side that tells how it is turned is not in the scan: {told}.",
        )  # fmt: skip
    return Turn(laid, angle, gap, _alike(form))


def _fitted(around, pose, known, moves):
    """The form fitted from a near pose; with its turn held where nothing else would hold it."""
    fitted = settle(around, pose, known, moves)
    if fitted is None or not _is_same(fitted.pose, pose, 360.0 / known.form.turns):
        fitted = settle(around, pose, known, _held(moves))
    return fitted


def _held(moves):
    return tuple(one for one in moves if one != TURN)


def _alike(form):
    if form.turns == 1:
        return ""
    return (
        f"The form looks the same after every {360 / form.turns:.0f}°: which of the"
        f" {form.turns} turns it is cannot be seen."
    )


def _rival(laid, moves):
    """The likeliest form with another turn, None where none lies near, and the gap to it."""
    form, pose = laid.known.form, laid.pose
    period = 360.0 / form.turns
    angles = np.arange(OTHER_DEG, period - OTHER_DEG + 1e-6, STEP_DEG)
    spread = max(laid.seen.spreads_mm[0], LEAST_SPREAD_MM)
    if not len(angles) or not np.isfinite(spread):
        return None, np.inf
    few, held = laid.around.thinned(FEW_POINTS), _held(moves)
    # Fitted to the same points as its rivals, so that only the turn makes the difference.
    own = _fitted(few, pose, laid.known, moves)
    if own is None:
        return None, np.inf
    points = _points(own)
    costs = np.array(
        [_cost(points[::THINNED], _turned(pose, angle), form, spread) for angle in angles]
    )
    best, gap, least = None, np.inf, _cost(points, own.pose, form, spread)
    for k in _lows(costs)[:RIVALS]:
        start = _turned(pose, angles[k])
        other = settle(few, start, laid.known, moves)
        if other is None or _is_same(other.pose, pose, period):
            other = settle(few, start, laid.known, held)
        if other is None or np.linalg.norm(other.pose.origin_mm - pose.origin_mm) > 1.0:
            continue
        cost = _cost(points, other.pose, form, spread)
        if cost - least < gap:
            best, gap = other, cost - least
    return best, float(gap)


def _points(laid):
    """Points in the world that should lie on the form."""
    seen = laid.seen
    mine = seen.is_free & (seen.is_on | (seen.away_mm < 2 * EDGE_ZONE_MM) & seen.agrees)
    return laid.pose.to_world(seen.points[mine])


def _cost(points, pose, form, spread):
    """How unlikely (log) points are, if the form stands there."""
    found = form.nearest.closest(pose.to_local(points), MOST_SPREADS * spread + 1e-9)
    off = np.minimum(found.distance_mm / spread, MOST_SPREADS)
    return float(0.5 * (off**2).sum())


def _lows(costs):
    """The places of local minima, the lowest first."""
    before, after = np.roll(costs, 1), np.roll(costs, -1)
    before[0], after[-1] = np.inf, np.inf
    low = np.flatnonzero((costs <= before) & (costs <= after))
    return low[np.argsort(costs[low], kind="stable")]


def _turned(pose, degrees):
    turn = np.radians(degrees)
    across = np.cross(pose.axis, pose.toward)
    return Pose(pose.origin_mm, pose.axis, np.cos(turn) * pose.toward + np.sin(turn) * across)


def _turn_between(one, two):
    across = np.cross(one.axis, one.toward)
    return float(np.degrees(np.arctan2(two.toward @ across, two.toward @ one.toward))) % 360


def _is_same(one, two, period):
    turn = _turn_between(one, two) % period
    return min(turn, period - turn) < OTHER_DEG / 2
