"""How fast is the clearance of a bridge beside general libraries?"""

import time

import numpy as np
from scipy.spatial import cKDTree

from casework.benchmark.measuring import Comparison
from casework.demo.meshes import bridge, lower_arch, upper_arch
from casework.measure.bite import clearance, clearance_field, jaws_in_bite

TRIANGLES = 667_000  # of the opposing jaw at scale 1
SITES = ("44", "45", "46", "47")


def compare(scale: float = 1.0) -> list[Comparison]:
    """Return clearance and its field beside the obvious way, and of two jaws; warm."""
    import trimesh

    part = bridge(SITES, 3, step_mm=0.2)
    jaw = upper_arch(3, triangles=int(TRIANGLES * scale))
    mesh = trimesh.Trimesh(jaw.vertices, jaw.faces, process=False)
    theirs = _timed(lambda: _nearest(trimesh, mesh, part.vertices))
    note = f"{len(part.faces)} against {len(jaw.faces)} triangles"
    slow = "nearest vertex by k-d tree, then the triangles around it; no sign, no islands"
    arguments = part.vertices, part.faces, jaw.vertices, jaw.faces
    lower = lower_arch(3, (), triangles=int(0.5 * TRIANGLES * scale))
    return [
        Comparison(
            "clearance, overlap and their noise",
            _timed(lambda: clearance(*arguments, "design")), theirs, note, slow,
        ),
        Comparison(
            "field of clearance, 2 mm",
            _timed(lambda: clearance_field(*arguments)), theirs, note, slow,
        ),
        Comparison(
            "bite of two jaws",
            _timed(lambda: jaws_in_bite(lower.vertices, lower.faces, *arguments[2:], "jaws")),
            None, note, "no general-purpose way",
        ),
    ]  # fmt: skip


def _nearest(trimesh, mesh, points):
    """Distances by scipy's tree of the vertices and trimesh's nearest points on triangles.

    trimesh's own search of triangles needs a further package. This way misses triangles that
    are nearer than those around the nearest vertex.
    """
    _, vertex = cKDTree(mesh.vertices).query(points)
    around = mesh.vertex_faces[vertex]
    row, column = np.nonzero(around >= 0)
    triangles = mesh.triangles[around[row, column]]
    on = trimesh.triangles.closest_point(triangles, points[row])
    distances = np.full(len(points), np.inf)
    np.minimum.at(distances, row, np.linalg.norm(on - points[row], axis=1))
    return distances


def _timed(run):
    run()
    start = time.perf_counter()
    run()
    return time.perf_counter() - start
