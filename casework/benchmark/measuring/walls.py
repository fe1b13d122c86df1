"""How fast are walls and fit measured beside a library for triangle meshes?"""

import numpy as np

from casework.benchmark.measuring import Comparison, best_of, spread_of
from casework.benchmark.turned_parts import TurnedParts
from casework.measure.fit import seat_fit
from casework.measure.posts import find_post
from casework.measure.retainers import OUTER, take_apart
from casework.measure.surfaces.poses import Pose
from casework.measure.walls import retainer_walls

TRIANGLES = 120_000  # of a crown at scale 1
ASKED = 300  # points that the library is timed on; its cost grows with their number


def compare(scale: float = 1.0) -> list[Comparison]:
    """Return walls and fit of a crown beside trimesh's nearest points, all warm."""
    import trimesh

    fine = np.sqrt(TRIANGLES * scale / 850.0)  # vertices a millimetre: 2 x 25 x 17 mm² of them
    parts = TurnedParts(
        sides=int(fine * 17), crown_sides=int(fine * 18), ring_mm=1 / fine, shift=0.2
    )
    abutment, crown = parts.abutment(), parts.crown()
    post = find_post(*abutment, Pose.of([0, 0, 0], [0, 0, 1]))
    whole = take_apart(*crown, {"36": post})
    inner = np.unique(whole.nearest.faces[whole.retainers["36"].intaglio])
    points = whole.nearest.vertices[inner]
    outside = trimesh.Trimesh(
        whole.nearest.vertices, whole.nearest.faces[whole.faces_of(OUTER)], process=False
    )
    solid = trimesh.Trimesh(*abutment, process=False)
    note = f"{len(crown[1])} triangles, {len(points)} points of the intaglio"
    some, nearest = spread_of(points, ASKED), trimesh.proximity.closest_point
    theirs = f"trimesh's nearest points, extrapolated from {len(some)}"
    return [
        Comparison(
            "least wall of a retainer, by region",
            best_of(lambda: retainer_walls(whole, "36")),
            best_of(lambda: nearest(outside, some)) * len(points) / len(some),
            note, theirs,
        ),
        Comparison(
            "fit of a retainer",
            best_of(lambda: seat_fit(whole, "36")),
            best_of(lambda: nearest(solid, some)) * len(points) / len(some),
            note, theirs,
        ),
        Comparison(
            "post and margin of an abutment",
            best_of(lambda: find_post(*abutment, Pose.of([0, 0, 0], [0, 0, 1]))),
            None, f"{len(abutment[1])} triangles", "no general-purpose way",
        ),
    ]  # fmt: skip
