"""What volume do closed pieces enclose together, and which of them are inside out?"""

import numpy as np


def enclosed(vertices, faces, turned, piece_of_face, volumes_mm3, bounds):
    """Return the volume in mm3 of closed pieces, and the numbers of those inside out.

    vertices (m, 3); faces (n, 3); turned (n,) bool: faces to be read the other way round;
    piece_of_face (n,); volumes_mm3 (p,) signed, with turned faces already read that way;
    bounds (p, 2, 3). A piece inside another and wound the other way is a cavity and is
    subtracted; a piece in no other with a negative volume is inside out and is added as if
    turned. Pieces that overlap are counted each.
    """
    sizes = np.abs(volumes_mm3)
    if not (volumes_mm3 < 0).any():
        return float(sizes.sum()), ()
    total, inside_out = 0.0, []
    for p in range(len(sizes)):
        holder = _holder(p, vertices, faces, turned, piece_of_face, sizes, bounds)
        if holder is None:
            total += sizes[p]
            if volumes_mm3[p] < 0:
                inside_out.append(p)
        else:
            is_cavity = (volumes_mm3[p] < 0) != (volumes_mm3[holder] < 0)
            total += -sizes[p] if is_cavity else sizes[p]
    return float(total), tuple(inside_out)


def _holder(p, vertices, faces, turned, piece_of_face, sizes, bounds):
    """Return the smallest piece that holds piece p, or None."""
    around = ((bounds[:, 0] <= bounds[p, 0]) & (bounds[:, 1] >= bounds[p, 1])).all(axis=1)
    around &= sizes > sizes[p]
    if not around.any():
        return None
    point = vertices[faces[piece_of_face == p][0, 0]]
    for q in sorted(np.flatnonzero(around), key=lambda one: sizes[one]):
        mine = piece_of_face == q
        if abs(winding_number(point, vertices, faces[mine], turned[mine])) > 0.5:
            return q
    return None


def winding_number(point, vertices, faces, turned) -> float:
    """Return how often the faces wind around a point: 0 outside, 1 or -1 inside.

    Sum of the solid angles (A. Van Oosterom and J. Strackee, The solid angle of a plane
    triangle, IEEE Transactions on Biomedical Engineering 1983).
    """
    a, b, c = (vertices[faces[:, k]] - point for k in range(3))
    la, lb, lc = (np.linalg.norm(side, axis=1) for side in (a, b, c))
    above = np.einsum("ij,ij->i", a, np.cross(b, c))
    below = (
        la * lb * lc
        + np.einsum("ij,ij->i", a, b) * lc
        + np.einsum("ij,ij->i", b, c) * la
        + np.einsum("ij,ij->i", c, a) * lb
    )
    angles = 2 * np.arctan2(above, below)
    return float(np.where(turned, -angles, angles).sum() / (4 * np.pi))
