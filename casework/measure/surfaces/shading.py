"""Which way does a surface face between its corners, where it stands for a round body?"""

import numpy as np

from casework.measure.jit import jit
from casework.measure.surfaces.normals import face_normals

CREASE_DEG = 25.0  # faces that meet more steeply meet in an edge of the body itself


def corner_normals(
    vertices: np.ndarray, faces: np.ndarray, crease_deg: float = CREASE_DEG
) -> np.ndarray:
    """Return unit normals (n, 3, 3) at the corners of faces (n, 3).

    Each is the mean of the faces around the corner that turn from this one by less than the
    crease, weighted by their angle there, so that it does not depend on how a flat piece is cut
    into triangles; zero at the corners of a face without area.
    """
    corners = vertices[faces]
    ahead = np.roll(corners, -1, axis=1) - corners
    behind = np.roll(corners, 1, axis=1) - corners
    sine = np.linalg.norm(np.cross(ahead, behind), axis=2)
    angles = np.arctan2(sine, np.einsum("ijk,ijk->ij", ahead, behind))
    return _corner_normals(
        np.ascontiguousarray(faces, np.int32), face_normals(vertices, faces), angles,
        len(vertices), float(np.cos(np.radians(crease_deg))),
    )  # fmt: skip


@jit
def _corner_normals(faces, normals, angles, vertex_count, cosine):
    starts = np.zeros(vertex_count + 1, np.int64)
    for f in range(len(faces)):
        for k in range(3):
            starts[faces[f, k] + 1] += 1
    for v in range(vertex_count):
        starts[v + 1] += starts[v]
    around = np.empty(starts[-1], np.int32)
    behind = starts[:-1].copy()
    for f in range(len(faces)):
        for k in range(3):
            around[behind[faces[f, k]]] = 3 * f + k
            behind[faces[f, k]] += 1
    result = np.zeros((len(faces), 3, 3))
    for f in range(len(faces)):
        for k in range(3):
            v = faces[f, k]
            for i in range(starts[v], starts[v + 1]):
                g = around[i] // 3
                turned = 0.0
                for x in range(3):
                    turned += normals[f, x] * normals[g, x]
                if turned > cosine:
                    for x in range(3):
                        result[f, k, x] += angles[g, around[i] % 3] * normals[g, x]
            length = np.sqrt((result[f, k] ** 2).sum())
            if length > 0.0:
                result[f, k] /= length
    return result


@jit
def smooth_normals(places, faces_at, vertices, faces, corner_normals):
    """Return unit normals (k, 3) at places on faces, between those of the corners.

    Zero where `faces_at` (k,) tells no face (-1).
    """
    result = np.zeros_like(places)
    ab, ac, ap = np.empty(3), np.empty(3), np.empty(3)
    for k in range(len(places)):
        f = faces_at[k]
        if f < 0:
            continue
        bb = bc = cc = pb = pc = 0.0
        for x in range(3):
            ab[x] = vertices[faces[f, 1], x] - vertices[faces[f, 0], x]
            ac[x] = vertices[faces[f, 2], x] - vertices[faces[f, 0], x]
            ap[x] = places[k, x] - vertices[faces[f, 0], x]
            bb += ab[x] * ab[x]
            bc += ab[x] * ac[x]
            cc += ac[x] * ac[x]
            pb += ap[x] * ab[x]
            pc += ap[x] * ac[x]
        whole = bb * cc - bc * bc
        b = (cc * pb - bc * pc) / whole if whole > 0.0 else 0.0
        c = (bb * pc - bc * pb) / whole if whole > 0.0 else 0.0
        length = 0.0
        for x in range(3):
            n = (
                (1.0 - b - c) * corner_normals[f, 0, x]
                + b * corner_normals[f, 1, x]
                + c * corner_normals[f, 2, x]
            )
            result[k, x] = n
            length += n * n
        for x in range(3):
            result[k, x] /= np.sqrt(length) if length > 0.0 else 1.0
    return result
