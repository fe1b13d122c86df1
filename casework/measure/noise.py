"""How much does the surface of a scan tremble along its normal?

Around each of some vertices a cubic surface is fitted through the two rings of its neighbours;
what is left over, divided by its degrees of freedom, is the noise there. Curvature that a cubic
does not follow only adds to it, so the level is read from the quiet part of these values, where
white noise alone has a known distribution.
"""

from dataclasses import dataclass

import numpy as np
from scipy.special import gammaincinv

from casework.measure.jit import jit
from casework.measure.results import AT_MOST, Measured, Quantity
from casework.measure.surfaces.normals import vertex_normals
from casework.measure.surfaces.smoothing import neighbours

NOISE = Quantity(
    "scan_noise",
    "noise along the normal of the surface, standard deviation",
    "µm",
    "residual of cubic surfaces through two rings of neighbours, read from the quiet third",
)
QUANTITIES = (NOISE,)

MOST_PATCHES = 10_000  # taken evenly in the order of the vertices
FEWEST_PATCHES = 30
TERMS = 10  # of a cubic in two variables
LEAST_LEFT = 4  # neighbours more than terms
MOST_NEIGHBOURS = 48
QUIET = 0.3  # patches up to this quantile tell the level; edges and fissures lie above
OVERLAP = 6.0  # patches beside each other share corners: so many count as one
CURVED = 0.07  # what curved places in the quiet part add at edges up to 0.3 mm, at most
# Neighbouring residuals of white noise do not hang together once what the fit itself does is
# taken off: 0.00 to 0.01 of the variance on synthetic scans of 5 to 50 µm with edges up to
# 0.3 mm. After one smoothing pass it is 0.02 to 0.04, after three 0.06 and more; bare form,
# as of a design or where edges are too long for its curvature, gives 0.08 to 0.11.
SMOOTHED = 0.012
RESOLUTION_UM = 0.05  # what single precision of a file leaves on a scan 60 mm wide


@dataclass(frozen=True)
class NoiseLevel:
    """`sigma_um` along the normal; `is_upper_bound` where the surface was smoothed; `share` how
    neighbouring residuals hang together, as a share of the variance.
    """

    sigma_um: float
    uncertainty_um: float
    is_upper_bound: bool
    share: float
    patches: int


def noise_level(
    vertices: np.ndarray,
    faces: np.ndarray,
    considered: np.ndarray | None = None,
    *,
    normals: np.ndarray | None = None,
    links: tuple | None = None,
) -> NoiseLevel | None:
    """Return the noise of a surface, or None where too few vertices have two whole rings.

    vertices (m, 3) mm; considered (m,) bool: only around these vertices. `normals` of the
    vertices and `links` (what `neighbours` returns) are worked out unless they are at hand.
    """
    vertices = np.ascontiguousarray(vertices, np.float64)
    faces = np.ascontiguousarray(faces, np.int32)
    if not len(faces):
        return None
    starts, others, is_border = links or neighbours(faces, len(vertices))
    chosen = np.flatnonzero(~is_border if considered is None else considered & ~is_border)
    if len(chosen) > MOST_PATCHES:
        chosen = chosen[(np.arange(MOST_PATCHES) * (len(chosen) / MOST_PATCHES)).astype(int)]
    if normals is None:
        normals = vertex_normals(vertices, faces)
    variance, freedom, together = _patches(vertices, normals, starts, others, is_border, chosen)
    is_used = freedom > 0
    if np.count_nonzero(is_used) < FEWEST_PATCHES:
        return None
    return _level(variance[is_used], freedom[is_used], together[is_used])


def noise_of(subject: str, vertices: np.ndarray, faces: np.ndarray) -> Measured:
    """Return the noise of a surface as a measured value; see `noise_level`."""
    return told_noise(NOISE, subject, noise_level(vertices, faces))


def told_noise(
    quantity: Quantity, subject: str, level: NoiseLevel | None, place_mm=None, **details
) -> Measured:
    """Return a level as the value of a quantity, or that it cannot be told."""
    if level is None:
        return quantity.not_known(
            subject, "Too few points of the surface are surrounded by others to tell its noise."
        )
    return quantity.of(
        subject,
        level.sigma_um,
        place_mm,
        level.uncertainty_um,
        reads=AT_MOST if level.is_upper_bound else "about",
        is_smoothed=level.is_upper_bound,
        patch_count=level.patches,
        sentence=_sentence(level),
        **details,
    )


def _sentence(level):
    if level.is_upper_bound:
        return (
            f"At most {max(level.sigma_um, RESOLUTION_UM):.2g} µm is left: the surface was "
            "smoothed or designed, or its edges are too long for its form, so what the "
            "scanner's noise was cannot be told."
        )
    return f"The surface trembles by about {level.sigma_um:.1f} µm (standard deviation)."


def _level(variance, freedom, together):
    """Read the level where white noise alone would put the quiet quantile."""
    # Each patch's variance over the value that a chi-square of its freedom has at the quantile.
    at_quantile = 2.0 * gammaincinv(freedom / 2.0, QUIET) / freedom
    scaled = variance / at_quantile
    level = float(np.quantile(scaled, QUIET))
    quiet = scaled <= np.quantile(scaled, 2 * QUIET)
    share = float(together[quiet].sum() / max(variance[quiet].sum(), 1e-30))
    sigma_um = 1000.0 * float(np.sqrt(level))
    single = max(len(variance) / OVERLAP, 1.0)
    doubt = 1.96 * sigma_um / np.sqrt(2.0 * np.mean(freedom) * single)
    scatter = float(np.std(together[quiet] / max(level, 1e-30)))
    share_doubt = 2.0 * scatter / np.sqrt(max(quiet.sum() / OVERLAP, 1.0))
    return NoiseLevel(
        sigma_um,
        max(float(doubt), CURVED * sigma_um, RESOLUTION_UM),
        bool(share > SMOOTHED + share_doubt or sigma_um < RESOLUTION_UM),
        share,
        len(variance),
    )


@jit
def _patches(vertices, normals, starts, others, is_border, chosen):
    """Variance, freedom (0: not used) and hanging together of the residuals of each patch."""
    count = len(chosen)
    variance, together = np.zeros(count), np.zeros(count)
    freedom = np.zeros(count, np.int64)
    ring = np.empty(MOST_NEIGHBOURS + 1, np.int64)
    rows = np.empty((MOST_NEIGHBOURS + 1, TERMS))
    heights = np.empty(MOST_NEIGHBOURS + 1)
    normal, across, along = np.empty(3), np.empty(3), np.empty(3)
    for p in range(count):
        v = chosen[p]
        size, first = _two_rings(v, starts, others, is_border, ring)
        if size < TERMS + LEAST_LEFT:
            continue
        for x in range(3):
            normal[x] = 0.0
            for i in range(size):
                normal[x] += normals[ring[i], x]
        if not _across(normal, across, along):
            continue
        scale = 0.0
        for i in range(size):
            for x in range(3):
                scale = max(scale, abs(vertices[ring[i], x] - vertices[v, x]))
        if scale == 0.0:
            continue
        _rows(vertices, v, ring, size, normal, across, along, scale, rows, heights)
        is_solved, total, product = _residuals(rows, heights, size, first)
        if not is_solved:
            continue
        freedom[p] = size - TERMS
        variance[p] = total / freedom[p]
        together[p] = product[0] - product[1] * variance[p]
    return variance, freedom, together


@jit
def _two_rings(v, starts, others, is_border, ring):
    """The vertex, its neighbours, theirs; their number (0: at a border), that of the first."""
    ring[0] = v
    size = 1
    for k in range(starts[v], starts[v + 1]):
        if size > MOST_NEIGHBOURS:
            return 0, 0
        ring[size] = others[k]
        size += 1
    first = size
    for i in range(1, first):
        if is_border[ring[i]]:
            return 0, 0
        for k in range(starts[ring[i]], starts[ring[i] + 1]):
            one, is_known = others[k], False
            for j in range(size):
                if ring[j] == one:
                    is_known = True
                    break
            if is_known:
                continue
            if size > MOST_NEIGHBOURS:
                return 0, 0
            ring[size] = one
            size += 1
    return size, first


@jit
def _across(normal, across, along):
    """Make the normal a unit vector and find two directions across it."""
    length = np.sqrt(normal[0] ** 2 + normal[1] ** 2 + normal[2] ** 2)
    if not length > 0.0:
        return False
    least = 0
    for x in range(3):
        normal[x] /= length
        if abs(normal[x]) < abs(normal[least]):
            least = x
    size = 0.0
    for x in range(3):
        across[x] = (1.0 if x == least else 0.0) - normal[least] * normal[x]
        size += across[x] ** 2
    for x in range(3):
        across[x] /= np.sqrt(size)
    along[0] = normal[1] * across[2] - normal[2] * across[1]
    along[1] = normal[2] * across[0] - normal[0] * across[2]
    along[2] = normal[0] * across[1] - normal[1] * across[0]
    return True


@jit
def _rows(vertices, v, ring, size, normal, across, along, scale, rows, heights):
    """The terms of a cubic at each place of the patch, and its height, in mm."""
    for i in range(size):
        a = b = h = 0.0
        for x in range(3):
            off = vertices[ring[i], x] - vertices[v, x]
            a += off * across[x] / scale
            b += off * along[x] / scale
            h += off * normal[x]
        heights[i] = h
        rows[i, 0], rows[i, 1], rows[i, 2] = 1.0, a, b
        rows[i, 3], rows[i, 4], rows[i, 5] = a * a, a * b, b * b
        rows[i, 6], rows[i, 7], rows[i, 8], rows[i, 9] = a * a * a, a * a * b, a * b * b, b**3


@jit
def _residuals(rows, heights, size, first):
    """Fit; the sum of squares left; residual at the middle times those of the first ring.

    Of the latter the mean, and what the fit of white noise of variance one would give there.
    """
    lower = np.zeros((TERMS, TERMS))
    right = np.zeros(TERMS)
    for i in range(TERMS):
        for k in range(size):
            right[i] += rows[k, i] * heights[k]
        for j in range(i + 1):
            total = 0.0
            for k in range(size):
                total += rows[k, i] * rows[k, j]
            for k in range(j):
                total -= lower[i, k] * lower[j, k]
            if i > j:
                lower[i, j] = total / lower[j, j]
            elif total > 1e-9:
                lower[i, i] = np.sqrt(total)
            else:
                return False, 0.0, (0.0, 0.0)
    middle = rows[0].copy()
    _solve(lower, right)
    _solve(lower, middle)
    total = product = expected = own = 0.0
    for k in range(size):
        left, influence = heights[k], 0.0
        for i in range(TERMS):
            left -= rows[k, i] * right[i]
            influence += rows[k, i] * middle[i]
        total += left * left
        if k == 0:
            own = left
        elif k < first:
            product += own * left / (first - 1)
            expected -= influence / (first - 1)
    return True, total, (product, expected)


@jit
def _solve(lower, right):
    """Solve in place with a Cholesky factor."""
    for i in range(TERMS):
        for j in range(i):
            right[i] -= lower[i, j] * right[j]
        right[i] /= lower[i, i]
    for i in range(TERMS - 1, -1, -1):
        for j in range(i + 1, TERMS):
            right[i] -= lower[j, i] * right[j]
        right[i] /= lower[i, i]
