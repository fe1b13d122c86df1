"""Which motion carries points of one surface onto another, how well, and how surely?

Points are paired with the nearest place of the surface and moved so that the distances along
its normals become least (Y. Chen and G. Medioni, Object modelling by registration of multiple
range images, Image and Vision Computing 1992). What is farther than a cut-off that shrinks from
step to step is left out; what remains counts less the more it stands out (S. Geman and D. E.
McClure, Statistical methods for tomographic image reconstruction, Bulletin of the International
Statistical Institute 1987), measured against the spread of the distances themselves. So what
has changed between two surfaces, and what belongs to one of them only, does not pull.
"""

from dataclasses import dataclass

import numpy as np
from scipy.special import gammaincinv

from casework.measure.jit import jit
from casework.measure.surfaces.nearest import Closest, Nearest
from casework.measure.surfaces.poses import Rigid
from casework.measure.surfaces.shading import smooth_normals
from casework.measure.surfaces.thinning import evenly

LAST_CUTOFF_MM = 0.12  # several times the noise of a scanner
CUTOFF_SPREADS = 4.0  # a cut-off does not bite into the noise itself,
NOISE_CUTOFF_MM = 0.24  # unless that were so strong that change would pass for it
WEIGHT_SPREADS = 2.5  # distances beyond so many spreads count little
AGREE_COSINE = 0.85  # of the normals of a pair: 32 degrees
STEEP_COSINE = 0.7  # a pair that lies more across than along the normal is beyond a border
MOST_POINTS = 30_000  # taken evenly in their order; more do not make the fit better
FEW_POINTS = 4_000  # enough as long as the cut-off is coarse
MOST_STEPS = 20  # for one cut-off
COARSE_STEPS = 8
STILL_MM = 1e-4  # a step that moves nothing farther is the last
COARSE_SPREAD = 0.25  # of a coarse cut-off: with less, what fits early would hold the rest
COARSE_STILL = 0.01  # the same for a coarse cut-off, as a share of it
MOST_LONGER = 1.6  # times that a step of the last cut-off is longer than its weights say
LEAST_PAIRS = 12
FLAT = 1e-4  # of the largest curvature: a direction in which next to nothing holds
FREE_VARIANCE = 1e6  # mm², of a shift (or turn times size) that nothing holds
NEAR_MM = 2.0  # over which a surface that is turned or moved is off by the same amount
PATCH_MM = 1.0  # noise of points nearer to each other than this may hang together


@dataclass(frozen=True, eq=False)
class Alignment:
    """The motion found and how well it is known.

    `rigid` carries the points onto the surface. `rms_mm` is the root mean square distance of
    the pairs within the last cut-off (`cutoff_mm`), `spread_mm` their robust standard
    deviation, `share` the part of the points asked that is paired there, `pairs` their numbers.
    `covariance` (6, 6) is that of a small turn (rad, about `centre_mm`) and shift (mm) in the
    frame of the surface; where a direction is held by nothing, `is_held` is False and its
    variance is huge; where nothing was to move, it is 0.
    """

    rigid: Rigid
    cutoff_mm: float
    rms_mm: float
    spread_mm: float
    share: float
    pairs: np.ndarray
    covariance: np.ndarray
    centre_mm: np.ndarray
    is_held: bool

    @property
    def turn_covariance(self) -> np.ndarray:
        """Of the turn vector in rad², (3, 3)."""
        return self.covariance[:3, :3]

    def shift_covariance(self, place_mm: np.ndarray) -> np.ndarray:
        """Of where a point of the surface's frame comes to lie, in mm², (3, 3)."""
        lever = np.zeros((3, 6))
        x, y, z = np.asarray(place_mm, float) - self.centre_mm
        lever[:, :3] = [[0, z, -y], [-z, 0, x], [y, -x, 0]]
        lever[:, 3:] = np.eye(3)
        return lever @ self.covariance @ lever.T


def radius_95(covariance: np.ndarray) -> float:
    """Return the radius that holds 95 % of normal errors of a covariance (k, k).

    The sum of squares is taken as a scaled chi-square of the same mean and variance (F. E.
    Satterthwaite, An approximate distribution of estimates of variance components, Biometrics
    1946): exact for equal variances, within 2 % of the radius otherwise.
    """
    total = float(np.trace(covariance))
    square = float(np.sum(covariance * covariance))
    if not total > 0 or not square > 0:
        return 0.0
    degrees = total * total / square
    return float(np.sqrt(2.0 * gammaincinv(degrees / 2, 0.95) * square / total))


def align(
    points: np.ndarray,
    normals: np.ndarray,
    nearest: Nearest,
    start: Rigid,
    *,
    first_cutoff_mm: float | None = None,
    last_cutoff_mm: float = LAST_CUTOFF_MM,
    corner_normals: np.ndarray | None = None,
    moves: tuple[int, ...] = (0, 1, 2, 3, 4, 5),
    most_points: int = MOST_POINTS,
    still_mm: float = STILL_MM,
) -> Alignment | None:
    """Return how points (k, 3) with unit normals (k, 3) lie on a surface, from a near guess.

    `start` is within about the first cut-off of the truth; that is the reach of `nearest`
    unless given. `corner_normals` (n, 3, 3) smooth the surface between its corners; without
    them each face has one normal. `moves` names what may move: turns about x, y, z (0, 1, 2)
    and shifts along them (3, 4, 5) in the frame of the surface. Steps end when none moves a
    point farther than `still_mm`. None where too few points come near. Places of two intact
    scans of about 60 mm that differ by their noise alone agree within about 2 µm, from starts
    1 mm and 2 degrees off.
    """
    cutoff = nearest.reach_mm if first_cutoff_mm is None else first_cutoff_mm
    chosen = evenly(len(points), most_points)
    points, normals = points[chosen], normals[chosen]
    few = evenly(len(points), FEW_POINTS)
    surface = _Surface(nearest, corner_normals, np.eye(6)[:, list(moves)])
    rigid = start
    while True:
        is_last = cutoff <= last_cutoff_mm
        some = slice(None) if is_last else few
        still = still_mm if is_last else max(COARSE_STILL * cutoff, still_mm)
        steps = MOST_STEPS if is_last else COARSE_STEPS
        least = 0.0 if is_last else COARSE_SPREAD * cutoff
        rigid, fit = _settled(
            points[some], normals[some], surface, rigid, cutoff, least, steps, still
        )
        if fit is None:
            return None
        if is_last:
            return _told(rigid, cutoff, fit, chosen, surface.moves)
        noise_mm = min(CUTOFF_SPREADS * _noise(fit), NOISE_CUTOFF_MM, cutoff)
        last_cutoff_mm = max(last_cutoff_mm, noise_mm)
        cutoff = max(cutoff / 2, last_cutoff_mm)


@dataclass(frozen=True, eq=False)
class _Surface:
    nearest: Nearest
    corner_normals: np.ndarray | None
    moves: np.ndarray  # (6, j): the turns and shifts that are made

    def pairs(self, points, normals, cutoff):
        """Pairs within a cut-off: numbers of the points, their normals there, distances."""
        found = self.nearest.closest(points, cutoff)
        there = self.normals_at(found)
        away = points - found.point_mm
        along = np.einsum("ij,ij->i", away, there)
        is_pair = found.is_found & (np.einsum("ij,ij->i", normals, there) > AGREE_COSINE)
        reach = np.where(found.is_found, found.distance_mm, 0.0)
        is_pair &= np.abs(along) >= STEEP_COSINE * reach - STILL_MM
        chosen = np.flatnonzero(is_pair)
        return chosen, there[chosen], along[chosen]

    def normals_at(self, found: Closest):
        if self.corner_normals is None:
            return found.normals()
        return smooth_normals(
            found.point_mm, found.face, self.nearest.vertices, self.nearest.faces,
            self.corner_normals,
        )  # fmt: skip


@dataclass(frozen=True, eq=False)
class _Fit:
    """The pairs of one step and what they weigh, at the pose before the step."""

    asked: int
    pairs: np.ndarray
    levers: np.ndarray  # (k, 6): what a small turn and shift do to each distance
    distances: np.ndarray
    places: np.ndarray
    centre: np.ndarray
    spread: float


def _settled(points, normals, surface, rigid, cutoff, least_spread, steps, still):
    """Step until nothing moves any more; return the pose and the pairs there."""
    for _ in range(steps):
        moved = rigid.apply(points)
        fit = _fit(moved, rigid.turn(normals), surface, cutoff, least_spread)
        if fit is None:
            return rigid, None
        step, size = _step(fit, surface.moves, 1.0 if least_spread else MOST_LONGER)
        rigid = step.after(rigid)
        if size < still:
            break
    return rigid, fit


def _fit(moved, turned, surface, cutoff, least_spread):
    pairs, there, distances = surface.pairs(moved, turned, cutoff)
    if len(pairs) < LEAST_PAIRS:
        return None
    places = moved[pairs]
    centre = places.mean(axis=0)
    levers = np.concatenate([np.cross(places - centre, there), there], axis=1)
    spread = 1.4826 * float(np.median(np.abs(distances)))  # robust standard deviation
    spread = max(spread, least_spread, 1e-7)
    return _Fit(len(moved), pairs, levers, distances, places, centre, spread)


def _step(fit, moves, most_longer):
    """The motion of one step and how far it moves the pairs at most, in mm."""
    squares = (fit.distances / (WEIGHT_SPREADS * fit.spread)) ** 2
    weights = 1.0 / (1.0 + squares) ** 2
    curvature = _products(fit.levers, weights)
    pull = -np.einsum("ki,k->i", fit.levers, weights * fit.distances)
    inverse, _ = _inverse(curvature, _scale(fit), moves)
    # Weights hold a pair faster than it holds itself: its pull grows by its slope only. Longer
    # by less than twice, a step of weighted squares still leads down.
    slopes = float((weights * (1.0 - 3.0 * squares) / (1.0 + squares)).sum())
    longer = min(float(weights.sum()) / max(slopes, 1e-30), most_longer)
    turn, shift = np.split(longer * (inverse @ pull), 2)
    rotation = _rotation(turn)
    rigid = Rigid(rotation, fit.centre + shift - rotation @ fit.centre)
    reach = np.sqrt(((fit.places - fit.centre) ** 2).sum(axis=1).max())
    return rigid, float(np.linalg.norm(shift) + np.linalg.norm(turn) * reach)


def _scale(fit):
    """Root mean square distance from the centre: makes turns and shifts comparable."""
    size = np.sqrt(((fit.places - fit.centre) ** 2).sum(axis=1).mean())
    return np.array([max(size, 1e-9)] * 3 + [1.0] * 3)


def _inverse(curvature, scale, moves):
    """The inverse in the directions that are held, and the directions that are not (6, j)."""
    scaled = moves.T @ (curvature / np.outer(scale, scale)) @ moves
    values, vectors = np.linalg.eigh(scaled)
    is_held = values > FLAT * values[-1]
    vectors = moves @ vectors / scale[:, None]
    held = vectors[:, is_held]
    return (held / values[is_held]) @ held.T, vectors[:, ~is_held]


def _rotation(turn):
    """The matrix of a turn vector (B. O. Rodrigues)."""
    angle = np.linalg.norm(turn)
    x, y, z = turn
    cross = np.array([[0, -z, y], [z, 0, -x], [-y, x, 0]])
    if angle < 1e-12:
        return np.eye(3) + cross
    once, twice = np.sin(angle) / angle, (1 - np.cos(angle)) / angle**2
    return np.eye(3) + once * cross + twice * cross @ cross


def _told(rigid, cutoff, fit, chosen, moves):
    covariance, is_held = _covariance(fit, moves)
    return Alignment(
        rigid,
        float(cutoff),
        float(np.sqrt(np.mean(fit.distances**2))),
        fit.spread,
        len(fit.pairs) / fit.asked,
        chosen[fit.pairs],
        covariance,
        fit.centre,
        is_held,
    )


def _covariance(fit, moves):
    """Of the fit, from the distances themselves and without a model of their noise.

    The estimate that holds for weighted fits of any noise (P. J. Huber, The behavior of maximum
    likelihood estimates under nonstandard conditions, Berkeley Symposium 1967), times how much
    more the sums over patches vary than independent points would.
    """
    shares = fit.distances / (WEIGHT_SPREADS * fit.spread)
    pulls = fit.distances / (1.0 + shares**2) ** 2
    slopes = (1.0 - 3.0 * shares**2) / (1.0 + shares**2) ** 3
    inverse, free = _inverse(_products(fit.levers, slopes), _scale(fit), moves)
    count = len(fit.distances)
    variance = _products(fit.levers, pulls**2) * count / max(count - 6, 1)
    covariance = inverse @ variance @ inverse * _patch_factor(fit, pulls)
    return covariance + FREE_VARIANCE * free @ free.T, free.shape[1] == 0


def _patch_factor(fit, pulls):
    sums = np.bincount(_patches(fit, PATCH_MM), pulls)
    # Six of the sums are taken up by the fit itself.
    free = len(sums) / max(len(sums) - 6, 1)
    return max(1.0, float((sums**2).sum() / max((pulls**2).sum(), 1e-30)) * free)


def _noise(fit):
    """The spread of the distances against those beside them: noise without what moved."""
    patch = _patches(fit, NEAR_MM)
    order = np.argsort(patch, kind="stable")
    jumps = np.diff(fit.distances[order])[np.diff(patch[order]) == 0]
    return 1.4826 * float(np.median(np.abs(jumps))) / np.sqrt(2) if len(jumps) else 0.0


def _patches(fit, size_mm):
    """The cube of that size in which each pair lies, numbered from 0."""
    # By places on the surface: those of the points would sort them by their noise.
    feet = fit.places - fit.distances[:, None] * fit.levers[:, 3:]
    cells = np.floor(feet / size_mm).astype(np.int64)
    cells -= cells.min(axis=0)
    width = cells.max(axis=0) + 1
    key = (cells[:, 0] * width[1] + cells[:, 1]) * width[2] + cells[:, 2]
    return np.unique(key, return_inverse=True)[1]


@jit
def _products(levers, weights):
    """The sum of weight times lever times lever, (6, 6)."""
    total = np.zeros((6, 6))
    for k in range(len(levers)):
        for i in range(6):
            part = weights[k] * levers[k, i]
            for j in range(i, 6):
                total[i, j] += part * levers[k, j]
    for i in range(6):
        for j in range(i):
            total[i, j] = total[j, i]
    return total
