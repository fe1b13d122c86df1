"""At which places is a surface asked, so that none of it is passed over?"""

from dataclasses import dataclass

import numpy as np

from casework.measure.surfaces.nearest import Nearest
from casework.measure.surfaces.normals import face_areas

SPACING_MM = 0.35
MOST_STEPS = 200  # along the edge of one triangle


@dataclass(frozen=True, eq=False)
class Places:
    """Places on a surface: point_mm (k, 3), normal (k, 3) of the face, face (k,) number."""

    surface: Nearest
    point_mm: np.ndarray
    normal: np.ndarray
    face: np.ndarray


def places_on(nearest: Nearest, chosen: np.ndarray, spacing_mm: float = SPACING_MM) -> Places:
    """Return the corners and middles of chosen faces, large faces being divided first."""
    corners = nearest.vertices[nearest.faces[chosen]]
    sides = np.linalg.norm(corners - np.roll(corners, 1, axis=1), axis=2).max(axis=1)
    points, owners = [corners.reshape(-1, 3)], [np.repeat(chosen, 3)]
    is_large = sides > spacing_mm
    if is_large.any():
        steps = np.ceil(sides[is_large] / spacing_mm).astype(int)
        for count in np.unique(steps):
            some = np.flatnonzero(is_large)[steps == count]
            shares = _shares(min(int(count), MOST_STEPS))
            points.append((shares @ corners[some]).reshape(-1, 3))
            owners.append(np.repeat(chosen[some], len(shares)))
    # A corner is asked once, with the normal of the first of its faces.
    _, first = np.unique(nearest.faces[chosen].reshape(-1), return_index=True)
    points[0], owners[0] = points[0][first], owners[0][first]
    owner = np.concatenate(owners)
    return Places(nearest, np.concatenate(points), nearest.face_normals[owner], owner)


def _shares(count):
    """Barycentric coordinates (k, 3) of an even lattice of a triangle, its corners included."""
    i, j = np.meshgrid(np.arange(count + 1), np.arange(count + 1), indexing="ij")
    inside = i + j <= count
    i, j = i[inside], j[inside]
    return np.column_stack([i, j, count - i - j]) / count


def even_places_on(
    nearest: Nearest, chosen: np.ndarray, spacing_mm: float = SPACING_MM
) -> tuple[Places, np.ndarray]:
    """Return the middles of chosen faces and the area in mm2 (k,) that each stands for.

    Large faces are divided into equal ones first.
    """
    corners = nearest.vertices[nearest.faces[chosen]]
    sides = np.linalg.norm(corners - np.roll(corners, 1, axis=1), axis=2).max(axis=1)
    steps = np.clip(np.ceil(sides / spacing_mm), 1, MOST_STEPS).astype(int)
    points, owners = [np.zeros((0, 3))], [np.zeros(0, np.int64)]
    for count in np.unique(steps):
        some = steps == count
        shares = _even_shares(int(count))
        points.append((shares @ corners[some]).reshape(-1, 3))
        owners.append(np.repeat(np.flatnonzero(some), len(shares)))
    owner = np.concatenate(owners)
    area = face_areas(nearest.vertices, nearest.faces[chosen])[owner] / steps[owner] ** 2
    face = chosen[owner]
    places = Places(nearest, np.concatenate(points), nearest.face_normals[face], face)
    return places, area


def _even_shares(count):
    """Barycentric middles (count², 3) of the equal triangles that a triangle falls into."""
    i, j = np.meshgrid(np.arange(count), np.arange(count), indexing="ij")
    inside = i + j < count
    upright = np.column_stack([i[inside], j[inside]]) + 1 / 3
    inside = i + j < count - 1
    turned = np.column_stack([i[inside], j[inside]]) + 2 / 3
    two = np.concatenate([upright, turned]) / count
    return np.column_stack([two, 1 - two.sum(axis=1)])
