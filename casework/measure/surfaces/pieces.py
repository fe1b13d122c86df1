"""Which pieces of a surface count, and what was left out?"""

import numpy as np
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import connected_components

from casework.measure.surfaces.normals import face_areas

LEAST_SHARE = 0.02  # of the whole area; smaller pieces of a scan are scatter


def main_pieces(vertices, faces, least_share: float = LEAST_SHARE):
    """Return (vertices, faces, dropped): the pieces with at least so much of the area.

    Pieces hang together through their vertices. `dropped` tells each piece left out, largest
    first: {"area_mm2", "centre_mm", "triangle_count"}. The largest piece always stays; where
    nothing is left out, the arrays are returned as they came.
    """
    vertices, faces = np.asarray(vertices), np.asarray(faces)
    if not len(faces):
        return vertices, faces, []
    piece = piece_of_faces(faces, len(vertices))
    areas = face_areas(vertices, faces)
    sizes = np.bincount(piece, areas)
    keeps = sizes >= least_share * sizes.sum()
    keeps[np.argmax(sizes)] = True
    if keeps.all():
        return vertices, faces, []
    dropped = [
        _told(vertices, faces, areas, piece, one)
        for one in np.argsort(-sizes, kind="stable")
        if not keeps[one]
    ]
    return (*compacted(vertices, faces[keeps[piece]]), dropped)


def piece_of_faces(faces: np.ndarray, vertex_count: int) -> np.ndarray:
    """Return the number of the piece of each face (n,), counted in the order of the faces."""
    ones = np.ones(2 * len(faces), np.int8)
    rows = np.concatenate([faces[:, 0], faces[:, 0]])
    columns = np.concatenate([faces[:, 1], faces[:, 2]])
    links = coo_matrix((ones, (rows, columns)), shape=(vertex_count, vertex_count))
    _, label = connected_components(links, directed=False)
    _, first, number = np.unique(label[faces[:, 0]], return_index=True, return_inverse=True)
    order = np.empty(len(first), np.int64)
    order[np.argsort(first)] = np.arange(len(first))
    return order[number]


def compacted(vertices, faces):
    """Return the faces with only those vertices that they use, in their order."""
    is_used = np.zeros(len(vertices), bool)
    is_used[faces.reshape(-1)] = True
    place = np.cumsum(is_used) - 1
    return vertices[is_used], place[faces].astype(np.int32)


def _told(vertices, faces, areas, piece, one):
    mine = piece == one
    middles = vertices[faces[mine]].mean(axis=1)
    weights = areas[mine] if areas[mine].sum() > 0 else None
    return {
        "area_mm2": float(areas[mine].sum()),
        "centre_mm": np.average(middles, axis=0, weights=weights).tolist(),
        "triangle_count": int(mine.sum()),
    }
