"""How are long triangles cut, so that no edge is longer than asked?"""

from collections.abc import Callable

import numpy as np


def split_long(
    vertices: np.ndarray,
    faces: np.ndarray,
    longest_mm: float,
    most: int | None = None,
    is_meant: Callable[[np.ndarray], np.ndarray] | None = None,
):
    """Return (vertices, faces) of the same surface with no edge longer than `longest_mm`.

    The longest edge of a triangle is halved until none is too long. Neighbours share the new
    corners, so that a closed surface stays closed. Raises ValueError where that makes more
    than `most` triangles: long, thin ones are cut into many. `is_meant` says of points (k, 3),
    the middles of longest edges, which (k,) are to be cut; the others stay as long as they are.
    """
    vertices, faces = np.asarray(vertices, float), np.asarray(faces, np.int64)
    while True:
        if most is not None and len(faces) > most:
            raise ValueError(
                f"Cut to {longest_mm:g} mm, they are more than {most:,} triangles."
            )
        edges = np.stack([faces, np.roll(faces, -1, axis=1)], axis=2)
        edges.sort(axis=2)
        lengths = np.linalg.norm(vertices[edges[..., 0]] - vertices[edges[..., 1]], axis=2)
        rank = np.lexsort(
            (edges[..., 1].ravel(), edges[..., 0].ravel(), lengths.ravel().round(9))
        )
        place = np.empty(len(rank), np.int64)
        place[rank] = np.arange(len(rank))
        longest = place.reshape(faces.shape).argmax(axis=1)
        rows = np.arange(len(faces))
        is_long = lengths[rows, longest] > longest_mm
        if is_meant is not None and is_long.any():
            ends = edges[rows[is_long], longest[is_long]]
            is_long[is_long] = is_meant(vertices[ends].mean(axis=1))
        if not is_long.any():
            return vertices, faces.astype(np.int32)
        codes = edges[..., 0] * len(vertices) + edges[..., 1]
        chosen = np.unique(codes[rows[is_long], longest[is_long]])
        made = np.stack(np.divmod(chosen, len(vertices)), axis=1)
        at = np.searchsorted(chosen, codes).clip(max=len(chosen) - 1)
        middle = np.where(chosen[at] == codes, at + len(vertices), -1)
        faces = _halved(faces, middle, longest)
        vertices = np.concatenate([vertices, vertices[made].mean(axis=1)])


def _halved(faces, middle, longest):
    """Cut faces whose edges have middles: through the longest first, then the other two."""
    rows = np.arange(len(faces))
    turn = np.where(middle[rows, longest] >= 0, longest, np.argmax(middle >= 0, axis=1))
    order = (turn[:, None] + np.arange(3)) % 3
    corner = np.take_along_axis(faces, order, axis=1)
    between = np.take_along_axis(middle, order, axis=1)
    whole = between.max(axis=1) < 0
    pieces = [faces[whole]]
    a, b, c = corner[~whole].T
    ab, bc, ca = between[~whole].T
    for start, end, edge in ((b, c, bc), (c, a, ca)):
        cut = edge >= 0
        pieces.append(np.stack([ab, start, end], axis=1)[~cut])
        pieces.append(np.stack([ab, start, edge], axis=1)[cut])
        pieces.append(np.stack([ab, edge, end], axis=1)[cut])
    return np.concatenate(pieces)
