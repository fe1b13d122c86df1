"""Are the triangles of a surface wound alike, and those of a closed one outward?"""

import numpy as np

from casework.measure.solids import enclosed
from casework.measure.surfaces.pieces import piece_of_faces
from casework.measure.winding import turned


def wound_alike(vertices: np.ndarray, faces: np.ndarray, is_solid: bool) -> np.ndarray:
    """Return the faces (n, 3), those wound against their neighbours turned.

    With `is_solid` a piece that is inside out and no cavity of another is turned as a whole.
    Which way an open scan faces cannot be told from itself: it keeps what most of it says.
    """
    is_turned, _is_orientable = turned(faces, len(vertices))
    if is_turned.any():
        faces = _turned(faces, is_turned)
    if not is_solid:
        return faces
    piece = piece_of_faces(faces, len(vertices))
    volumes, bounds = _volumes(vertices, faces, piece)
    if volumes.sum() < 0:  # a cavity is turned with what holds it
        faces, volumes = faces[:, ::-1], -volumes
    if not (volumes < 0).any():
        return faces
    upright = np.zeros(len(faces), bool)
    _total, inside_out = enclosed(vertices, faces, upright, piece, volumes, bounds)
    return _turned(faces, np.isin(piece, inside_out)) if inside_out else faces


def _turned(faces, which):
    faces = faces.copy()
    faces[which] = faces[which][:, ::-1]
    return faces


def _volumes(vertices, faces, piece):
    """Signed volume in mm3 and bounds (p, 2, 3) in mm of each piece."""
    corners = vertices[faces] - vertices.mean(axis=0)
    single = np.einsum("ij,ij->i", corners[:, 0], np.cross(corners[:, 1], corners[:, 2])) / 6
    count = int(piece.max()) + 1
    bounds = np.empty((count, 2, 3))
    bounds[:, 0], bounds[:, 1] = np.inf, -np.inf
    each = np.repeat(piece, 3)
    np.minimum.at(bounds[:, 0], each, vertices[faces].reshape(-1, 3))
    np.maximum.at(bounds[:, 1], each, vertices[faces].reshape(-1, 3))
    return np.bincount(piece, single, count), bounds
