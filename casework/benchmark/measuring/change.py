"""How fast is a scan compared with its processed copy, beside libraries for triangle meshes?"""

import numpy as np

from casework.benchmark.measuring import Comparison, best_of, spread_of
from casework.demo.meshes.arches import lower_arch
from casework.measure.change import compare as compare_surfaces
from casework.measure.frames import same_frame
from casework.measure.meshes import Mesh
from casework.measure.noise import noise_level
from casework.measure.surfaces.nearest import Nearest
from casework.measure.surfaces.sampled import REACH_MM
from casework.measure.surfaces.smoothing import smoothed

TRIANGLES = 570_000  # at scale 1
ASKED = 300  # points that trimesh is timed on; its cost grows with their number


def compare(scale: float = 1.0) -> list[Comparison]:
    """Return change, frame and noise of a scan beside the nearest points of trimesh and igl."""
    import igl
    import trimesh

    scan = lower_arch(1, triangles=int(TRIANGLES * scale), noise_um=20)
    raw = Mesh(scan.vertices, scan.faces.astype(np.int32))
    done = Mesh(smoothed(raw.vertices, raw.faces, 2), raw.faces)
    both = ((raw, done), (done, raw))
    other = trimesh.Trimesh(done.vertices, done.faces, process=False)
    some = spread_of(raw.vertices, ASKED)
    every = len(raw.vertices) + len(done.vertices)
    slow = best_of(lambda: trimesh.proximity.closest_point(other, some)) * every / len(some)
    ours = best_of(lambda: compare_surfaces(raw, done, subject=""))
    note = f"{len(raw.faces)} triangles"

    def nearest():
        for one, surface in both:
            Nearest(surface.vertices, surface.faces, REACH_MM).closest(one.vertices)

    def by_igl():
        for one, surface in both:
            igl.point_mesh_squared_distance(one.vertices, surface.vertices, surface.faces)

    return [
        Comparison(
            "change both ways, placed, with regions", ours, slow, note,
            f"trimesh's nearest points alone, extrapolated from {len(some)}",
        ),
        Comparison(
            "nearest points both ways, alone", best_of(nearest), best_of(by_igl),
            f"{note}, within {REACH_MM:g} mm, grid made", "igl, tree made, all threads summed",
        ),
        Comparison(
            "do two scans lie in one frame",
            best_of(lambda: same_frame(raw, done, subject="")),
            None, note, "no general-purpose way tells the doubt",
        ),
        Comparison(
            "noise of a scan", best_of(lambda: noise_level(raw.vertices, raw.faces)),
            None, note, "no general-purpose way",
        ),
    ]  # fmt: skip
