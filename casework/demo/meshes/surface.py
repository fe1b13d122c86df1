"""Which closed two-manifold surface separates the inside of a sampled field from its outside?

Surface nets: one vertex per grid cell that the surface crosses, one quadrilateral per crossed
grid edge. Cells in which the surface would touch itself are repaired first, so that every
edge belongs to exactly two faces, or to one where the grid ends (an open scan).
"""

from itertools import product

import numpy as np
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import connected_components

CORNERS = np.array(list(product((0, 1), repeat=3)))
EDGES = [(a, a + step) for step in (1, 2, 4) for a in range(8) if not a & step]
BARELY_MM = 1e-4  # the value a repaired grid point gets


def _pieces(corners):
    """How many pieces a set of cube corners falls into along the cube's edges."""
    left, count = set(corners), 0
    while left:
        count += 1
        wave = {left.pop()}
        while wave:
            reached = {b for a in wave for b in left if (min(a, b), max(a, b)) in EDGES}
            left -= reached
            wave = reached
    return count


def _touching_codes():
    """Corner patterns in which the surface would meet itself in one vertex or edge."""
    bad = np.zeros(256, dtype=bool)
    for code in range(1, 255):
        inner = [bit for bit in range(8) if code >> bit & 1]
        outer = [bit for bit in range(8) if not code >> bit & 1]
        bad[code] = _pieces(inner) > 1 or _pieces(outer) > 1
    return bad


TOUCHING = _touching_codes()


def _codes(inside):
    nx, ny, nz = inside.shape
    codes = np.zeros((nx - 1, ny - 1, nz - 1), dtype=np.uint8)
    for bit, (i, j, k) in enumerate(CORNERS):
        codes |= inside[i : nx - 1 + i, j : ny - 1 + j, k : nz - 1 + k].astype(np.uint8) << bit
    return codes


def _separate(values):
    """Fill single grid points until no cell lets the surface touch itself.

    Points are only ever filled, the one nearest to the surface first, so it must end.
    """
    codes = _codes(values < 0)
    while len(bad := np.argwhere(TOUCHING[codes])):
        corners = bad[:, None, :] + CORNERS[None]
        sample = values[tuple(np.moveaxis(corners, -1, 0))]
        nearest = np.where(sample >= 0, sample, np.inf).argmin(axis=1)
        values[tuple(corners[np.arange(len(bad)), nearest].T)] = -BARELY_MM
        codes = _codes(values < 0)
    return codes


def _vertices(values, cells):
    """Mean of the edge crossings of each cell, in grid steps."""
    samples = values[tuple(np.moveaxis(cells[:, None, :] + CORNERS[None], -1, 0))]
    samples = samples.astype(float)
    total = np.zeros((len(cells), 3))
    count = np.zeros(len(cells))
    for a, b in EDGES:
        crossed = (samples[:, a] < 0) != (samples[:, b] < 0)
        rise = np.where(crossed, samples[:, a] - samples[:, b], 1.0)
        share = np.where(crossed, samples[:, a] / rise, 0.0)
        point = CORNERS[a] + share[:, None] * (CORNERS[b] - CORNERS[a])
        total += crossed[:, None] * point
        count += crossed
    return cells + total / count[:, None]


def _quads(inside, names):
    """One quadrilateral of cell vertices per crossed inner grid edge, wound outward."""
    quads = []
    for axis in range(3):
        a, b = (axis + 1) % 3, (axis + 2) % 3
        order = (axis, a, b)
        turned, cells = inside.transpose(order), names.transpose(order)
        here, there = turned[:-1, 1:-1, 1:-1], turned[1:, 1:-1, 1:-1]
        i, j, k = np.nonzero(here != there)
        quad = np.stack(
            [cells[i, j, k], cells[i, j + 1, k], cells[i, j + 1, k + 1], cells[i, j, k + 1]],
            axis=1,
        )
        leaving = here[i, j, k]
        quads.append(np.where(leaving[:, None], quad, quad[:, ::-1]))
    return np.concatenate(quads)


def surface_nets(values):
    """Vertices in grid steps and outward quadrilaterals of the zero surface of an array."""
    values = np.array(values)
    codes = _separate(values)
    crossed = (codes != 0) & (codes != 255)
    cells = np.argwhere(crossed)
    names = np.full(codes.shape, -1, dtype=np.int32)
    names[crossed] = np.arange(len(cells), dtype=np.int32)
    return _vertices(values, cells), _quads(values < 0, names)


def triangles_of(vertices, quads, field=None):
    """Each quadrilateral cut along its shorter diagonal, or that nearer to a field's zero."""
    corner = vertices[quads]
    if field is None:
        first = np.linalg.norm(corner[:, 0] - corner[:, 2], axis=1)
        second = np.linalg.norm(corner[:, 1] - corner[:, 3], axis=1)
    else:
        first = np.abs(field((corner[:, 0] + corner[:, 2]) / 2))
        second = np.abs(field((corner[:, 1] + corner[:, 3]) / 2))
    turned = np.where((first <= second)[:, None], quads, np.roll(quads, -1, axis=1))
    return np.concatenate([turned[:, [0, 1, 2]], turned[:, [0, 2, 3]]])


def vertex_normals(vertices, faces):
    """Area-weighted unit normals."""
    corner = vertices[faces]
    across = np.cross(corner[:, 1] - corner[:, 0], corner[:, 2] - corner[:, 0])
    total = np.zeros_like(vertices)
    for axis in range(3):
        for place in range(3):
            total[:, axis] += np.bincount(
                faces[:, place], weights=across[:, axis], minlength=len(vertices)
            )
    return total / np.maximum(np.linalg.norm(total, axis=1), 1e-12)[:, None]


def main_pieces(vertices, faces, least_share=1.0):
    """The largest connected piece, and others with at least that share of its faces.

    Returns vertices, renumbered faces and which of the given vertices were kept.
    """
    edges = np.concatenate([faces[:, [0, 1]], faces[:, [1, 2]]])
    links = coo_matrix(
        (np.ones(len(edges), dtype=np.int8), (edges[:, 0], edges[:, 1])),
        shape=(len(vertices), len(vertices)),
    )
    _, piece = connected_components(links, directed=False)
    sizes = np.bincount(piece[faces[:, 0]])
    faces = faces[sizes[piece[faces[:, 0]]] >= least_share * sizes.max()]
    kept = np.zeros(len(vertices), dtype=bool)
    kept[faces] = True
    return vertices[kept], (np.cumsum(kept) - 1)[faces], kept
