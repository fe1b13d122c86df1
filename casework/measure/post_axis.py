"""Along which line does the post of an abutment stand, and what belongs to a bore in it?"""

import numpy as np
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import connected_components

from casework.measure.surfaces.nearest import Nearest
from casework.measure.surfaces.rays import FRONT, first_hits

BORE_MM = 4.0  # a surface that faces itself within this lies in a bore; bores are 2 to 3 mm
ENCLOSED = 0.4  # length of the mean normal of a bore: it faces every way, a notch one way
FILLED_SHARE = 0.15  # of the area: what a bore encloses that is larger is no step in it
STEEP = 0.25  # sine of the taper within which a face is taken for a wall: 14 degrees
SAME_SLOPE = 0.12  # a wall has one taper; by so much its slopes differ at most
TURNED_DEG = 40.0  # a post leans at most so far from its implant
DIRECTIONS = 900  # tried over half a sphere: 4.7 degrees apart
SAMPLE = 4000


def bore_of(nearest: Nearest, areas: np.ndarray, reach_mm: float = BORE_MM) -> np.ndarray:
    """Return of each face (n,) whether it lies in a bore or hollow of the surface.

    A face that looks at another within the reach does, if the whole patch of them looks every
    way; so do steps that such a patch encloses.
    """
    faces, normals = nearest.faces, nearest.face_normals
    middles = nearest.vertices[faces].mean(axis=1)
    _, met = first_hits(nearest, middles, normals, FRONT, reach_mm)
    inner = met >= 0
    inner &= ~looks_one_way(patches(faces, nearest.across, inner), areas, normals)
    if not inner.any():
        return inner
    patch = patches(faces, nearest.across, ~inner)
    sizes = np.bincount(patch[~inner], areas[~inner], minlength=patch.max() + 1)
    is_step = sizes < FILLED_SHARE * areas.sum()
    is_step[np.argmax(sizes)] = False
    touches = np.zeros(len(sizes), bool)
    beside = (nearest.across >= 0) & inner[nearest.across] & ~inner[:, None]
    touches[patch[beside.any(axis=1)]] = True
    return inner | (~inner & (is_step & touches)[patch])


def looks_one_way(patch: np.ndarray, areas: np.ndarray, normals: np.ndarray) -> np.ndarray:
    """Return of each face (k,) whether its patch looks one way, as no bore does."""
    sums = np.stack([np.bincount(patch, areas * normals[:, x]) for x in range(3)])
    sizes = np.maximum(np.bincount(patch, areas), 1e-12)
    return (np.linalg.norm(sums, axis=0) > ENCLOSED * sizes)[patch]


def patches(faces: np.ndarray, across: np.ndarray, chosen: np.ndarray) -> np.ndarray:
    """Return the number of the patch of each chosen face (n,); patches hang by edges.

    Faces that are not chosen have a patch of their own.
    """
    face, edge = np.nonzero((across >= 0) & chosen[:, None])
    other = across[face, edge]
    both = chosen[other]
    ones = np.ones(int(both.sum()), np.int8)
    links = coo_matrix((ones, (face[both], other[both])), shape=(len(faces), len(faces)))
    return connected_components(links, directed=False)[1]


def wall_direction(normals, areas, near=None) -> np.ndarray | None:
    """Return the direction (3,) that most of the area runs around: the axis of its walls.

    `near`, if given, is a direction it leans at most `TURNED_DEG` from. None where there is no
    wall around any direction.
    """
    weights = np.cumsum(areas)
    if not len(weights) or not weights[-1] > 0:
        return None
    drawn = np.searchsorted(weights, (np.arange(SAMPLE) + 0.5) / SAMPLE * weights[-1])
    sample = normals[drawn]
    tried = _half_sphere(DIRECTIONS)
    if near is not None:
        tried = tried * np.where(tried @ near < 0, -1.0, 1.0)[:, None]
        tried = tried[tried @ near > np.cos(np.radians(TURNED_DEG))]
    axis = tried[np.argmax(np.concatenate([_roundness(sample, one) for one in _split(tried)]))]
    for _ in range(8):
        axis = settled_axis(normals, areas, axis)
        if axis is None:
            return None
    return axis


def _roundness(normals, tried):
    """How much of the area runs along each direction (k,), on its scarcer sides.

    The middle one of the principal moments: large where walls look every way across the
    direction, small where they are flat ends seen from the side.
    """
    along = (np.abs(tried @ normals.T) < STEEP).astype(float)
    moments = along @ (normals[:, :, None] * normals[:, None, :]).reshape(-1, 9)
    return np.linalg.eigvalsh(moments.reshape(-1, 3, 3))[:, 1]


def settled_axis(normals, areas, axis):
    """Return the direction that walls around `axis` keep the most even slope to.

    The unit normals of a tapered wall end in a plane across its axis, whatever its outline.
    """
    slope = normals @ axis
    chosen = (np.abs(slope) < STEEP) & (areas > 0)
    if not chosen.any():
        return None
    # What stands out from the taper of most of the wall is an edge or a step.
    chosen &= np.abs(slope - _middle(slope[chosen], areas[chosen])) < SAME_SLOPE
    normal, area = normals[chosen], areas[chosen]
    mean = area @ normal / area.sum()
    away = normal - mean
    values, vectors = np.linalg.eigh((away * area[:, None]).T @ away / area.sum())
    if values[1] < 0.02:  # walls on two sides only, or flat: they run along more than one axis
        return None
    settled = vectors[:, 0]
    return settled if settled @ axis > 0 else -settled


def _middle(slopes, areas):
    """The median slope; between two unlike ones, that around which more of the area lies."""
    order = np.argsort(slopes, kind="stable")
    middles = slopes[order[[(len(order) - 1) // 2, len(order) // 2]]]
    return max(middles, key=lambda one: areas[np.abs(slopes - one) < SAME_SLOPE].sum())


def centre_of(points: np.ndarray, axis: np.ndarray) -> np.ndarray:
    """Return a point (3,) in the middle of what points (k, 3) occupy across an axis."""
    first = np.eye(3)[np.argmin(np.abs(axis))]
    first = first - (first @ axis) * axis
    first /= np.linalg.norm(first)
    across = np.stack([first, np.cross(axis, first)])
    flat = points @ across.T
    middle = (flat.min(axis=0) + flat.max(axis=0)) / 2
    return middle @ across + np.median(points @ axis) * axis


def _half_sphere(count):
    """Even directions over half a sphere (Fibonacci lattice)."""
    k = np.arange(count) + 0.5
    z, turn = k / count, np.pi * (3 - np.sqrt(5)) * k
    flat = np.sqrt(1 - z * z)
    return np.column_stack([flat * np.cos(turn), flat * np.sin(turn), z])


def _split(rows, size=64):
    return [rows[k : k + size] for k in range(0, len(rows), size)]
