"""How is a surface of large triangles cut into smaller ones without changing its form?"""

import numpy as np

MOST_FACES = 200_000


def refined(vertices: np.ndarray, faces: np.ndarray, edge_mm: float):
    """Return (vertices, faces) with sides halved until hardly one is longer than `edge_mm`.

    All triangles are cut into four alike, so that they still meet; the vertices given stay the
    first ones. Stops before there are more than 200,000 triangles.
    """
    while len(faces) and 4 * len(faces) <= MOST_FACES:
        sides = np.linalg.norm(vertices[faces] - vertices[np.roll(faces, -1, 1)], axis=2)
        if np.quantile(sides, 0.95) <= edge_mm:
            break
        vertices, faces = _halved(vertices, faces)
    return vertices, faces


def _halved(vertices, faces):
    pairs = np.sort(np.stack([faces, np.roll(faces, -1, axis=1)], axis=2), axis=2)
    edges, number = np.unique(pairs.reshape(-1, 2), axis=0, return_inverse=True)
    middles = vertices[edges].mean(axis=1)
    ab, bc, ca = number.reshape(-1, 3).T + len(vertices)
    a, b, c = faces.T
    cut = np.stack(
        [
            np.stack(one, axis=1)
            for one in ((a, ab, ca), (ab, b, bc), (ca, bc, c), (ab, bc, ca))
        ],
        axis=1,
    )
    return np.concatenate([vertices, middles]), cut.reshape(-1, 3).astype(np.int32)
