"""How fast is the clearance of a bridge beside a library for triangle meshes?"""

import time

import numpy as np

from casework.benchmark.measuring import Comparison
from casework.demo.meshes import bridge, lower_arch, upper_arch
from casework.measure.bite import clearance, clearance_field, jaws_in_bite

TRIANGLES = 667_000  # of the opposing jaw at scale 1
SITES = ("44", "45", "46", "47")
ASKED = 12  # points that the library is timed on; its cost grows with their number


def compare(scale: float = 1.0) -> list[Comparison]:
    """Return clearance and its field beside trimesh's nearest points, and two jaws; warm."""
    import trimesh

    part = bridge(SITES, 3, step_mm=0.2)
    jaw = upper_arch(3, triangles=int(TRIANGLES * scale))
    mesh = trimesh.Trimesh(jaw.vertices, jaw.faces, process=False)
    asked = np.linspace(0, len(part.vertices) - 1, ASKED).astype(int)
    some = part.vertices[asked]
    theirs = _timed(lambda: _nearest(trimesh, mesh, some)) * len(part.vertices) / ASKED
    note = f"{len(part.faces)} against {len(jaw.faces)} triangles"
    slow = f"nearest points without sign or islands, extrapolated from {ASKED}"
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
    """Every triangle against every point: the library's index needs another package."""
    triangles = mesh.triangles
    return [
        trimesh.triangles.closest_point(triangles, np.broadcast_to(p, (len(triangles), 3)))
        for p in points
    ]


def _timed(run):
    run()
    start = time.perf_counter()
    run()
    return time.perf_counter() - start
