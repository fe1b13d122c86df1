"""How far are points from a surface, and on which side of it?"""

import numpy as np
import trimesh
from scipy.spatial import cKDTree


def signed_gaps(points, vertices, faces, within=0.8, candidates=16):
    """Distances of the points nearer than `within`; negative inside the surface.

    The nearest face is looked for among the faces whose centres are nearest.
    """
    triangles = vertices[faces]
    _, near = cKDTree(triangles.mean(axis=1)).query(points, k=candidates)
    closest = trimesh.triangles.closest_point(
        triangles[near].reshape(-1, 3, 3), np.repeat(points, candidates, axis=0)
    ).reshape(len(points), candidates, 3)
    away = points[:, None] - closest
    distance = np.linalg.norm(away, axis=2)
    best = distance.argmin(axis=1)
    rows = np.arange(len(points))
    normals = trimesh.triangles.normals(triangles[near[rows, best]])[0]
    side = np.einsum("ij,ij->i", away[rows, best], normals)
    gaps = np.copysign(distance[rows, best], side)
    return gaps[np.abs(gaps) < within]
