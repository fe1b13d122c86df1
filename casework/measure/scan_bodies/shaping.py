"""Which surface has a round body of given dimensions, without the bottom no scanner sees?"""

import numpy as np
from scipy.spatial import ConvexHull, HalfspaceIntersection

from casework.measure.surfaces.normals import face_normals
from casework.measure.surfaces.pieces import compacted

SIDES = 96  # of a round body: facets lie up to r (1 - cos(180°/96)) / 2 = 0.6 µm out and in


def shaped(d):
    """Return (vertices, faces) of a body of `Dimensions`, open below, normals outward."""
    flat, ledge = bool(d.flat_depth_mm), bool(d.flat_depth_mm and d.flat_from_mm > 0)
    if not ledge:
        return _joined(d, [_hull(d, 0.0, d.height_mm, flat=flat)])
    low = _hull(d, 0.0, d.flat_from_mm, flat=False)
    return _joined(d, [low, _hull(d, d.flat_from_mm, d.height_mm, flat=True)])


def _hull(d, low, high, *, flat):
    """The convex part between two heights, as planes (normal, offset) cut out of space."""
    turn = 2 * np.pi * (np.arange(SIDES) + 0.5) / SIDES
    away = np.column_stack([np.cos(turn), np.sin(turn)])
    bottom, top = d.diameter_mm / 2, (d.top_diameter_mm or d.diameter_mm) / 2
    lean = (bottom - top) / d.height_mm  # radius lost per height
    # Facets touch the round body in their middle lines and stand out at their corners; half of
    # the difference is taken off, so that they lie as much outside as inside.
    fair = (1 + np.cos(np.pi / SIDES)) / 2
    planes = [
        np.column_stack([away, np.full(SIDES, lean), np.full(SIDES, -bottom * fair)]),
        [[0, 0, -1, low], [0, 0, 1, -high]],
    ]
    if d.bevel_mm and high == d.height_mm:
        planes.append(
            np.column_stack(
                [away, np.ones(SIDES), np.full(SIDES, d.bevel_mm - top * fair - d.height_mm)]
            )
        )
    if flat:
        planes.append([[1, 0, 0, -(d.diameter_mm / 2 - d.flat_depth_mm)]])
    if d.slope_deg:
        rise, across = np.cos(np.radians(d.slope_deg)), np.sin(np.radians(d.slope_deg))
        edge = [top, d.height_mm - d.slope_depth_mm]
        planes.append([[across, 0, rise, -(across * edge[0] + rise * edge[1])]])
    planes = np.concatenate([np.asarray(one, float) for one in planes])
    inside = [-0.3 * bottom, 0.0, low + 0.2 * min(high - low, 1.0)]
    corners = HalfspaceIntersection(planes, np.array(inside)).intersections
    corners = np.unique(np.round(corners, 9), axis=0)
    return corners, _outward(corners)


def _outward(corners):
    hull = ConvexHull(corners)
    faces = hull.simplices
    turned = np.einsum("ij,ij->i", face_normals(corners, faces), hull.equations[:, :3]) < 0
    faces[turned] = faces[turned][:, ::-1]
    return faces[np.lexsort(faces.T)]


def _joined(d, rings):
    """The parts without bottom and without what lies between them; the ledge where one is."""
    vertices, faces, count = [], [], 0
    for place, (corners, triangles) in enumerate(rings):
        normals = face_normals(corners, triangles)
        keep = normals[:, 2] > -0.999
        if place < len(rings) - 1:
            keep &= normals[:, 2] < 0.999
        vertices.append(corners)
        faces.append(triangles[keep] + count)
        count += len(corners)
    if len(rings) == 2:
        ledge = _ledge(d, rings[0][0])
        if len(ledge) >= 3:
            vertices.append(ledge)
            fan = [[count, count + k, count + k + 1] for k in range(1, len(ledge) - 1)]
            faces.append(np.array(fan))
    vertices, faces = np.concatenate(vertices), np.concatenate(faces)
    _, first, place = np.unique(
        np.round(vertices, 7), axis=0, return_index=True, return_inverse=True
    )
    return compacted(vertices[first], place.reshape(-1)[faces])


def _ledge(d, lower):
    """The level piece between flat and wall, its corners in turn from the flat's one end."""
    at, cut = d.flat_from_mm, d.diameter_mm / 2 - d.flat_depth_mm
    rim = lower[np.abs(lower[:, 2] - at) < 1e-6]
    turn = np.arctan2(rim[:, 1], rim[:, 0])
    rim = rim[np.argsort(turn)]
    ahead = rim[rim[:, 0] > cut]
    if not len(ahead):
        return np.zeros((0, 3))
    half = np.sqrt(max((ahead[:, :2] ** 2).sum(axis=1).max() - cut * cut, 0.0))
    return np.concatenate([[[cut, -half, at]], ahead, [[cut, half, at]]])
