"""Do the two jaws lie as the bite scan shows them?

The bite scan shows the cheek sides of both jaws at once, so each of its points belongs to the
jaw that it is nearer to. If the jaws are aligned to it, those points lie on the jaws to within
the noise of both scans, and no motion makes them lie better.
"""

from collections.abc import Mapping

import numpy as np

from casework.measure.results import Measured, Quantity
from casework.measure.surfaces.aligning import align, radius_95
from casework.measure.surfaces.gaps import Surface, scan_surface
from casework.measure.surfaces.nearest import Nearest
from casework.measure.surfaces.normals import vertex_normals
from casework.measure.surfaces.poses import Rigid

REACH_MM = 2.0  # a jaw that lies farther off the bite scan is not aligned to it at all
AGREE_COSINE = 0.7  # of the normals, 45 degrees
LEAST_POINTS = 200  # of a jaw in the bite scan
CLOSE_MM = 0.1

RMS = Quantity(
    "bite_scan_distance",
    "Distance of a jaw from the bite scan",
    "mm",
    "root mean square distance to the jaw of the points of the bite scan that show it",
)
SHIFT = Quantity(
    "bite_scan_shift",
    "Shift of a jaw against the bite scan",
    "mm",
    "how far the middle of what the bite scan shows of a jaw moves to fit the jaw",
)
QUANTITIES = (RMS, SHIFT)


def bite_scan_agreement(
    bite_vertices: np.ndarray,
    bite_faces: np.ndarray,
    jaws: Mapping[str, tuple[np.ndarray, np.ndarray]],
) -> list[Measured]:
    """Return distance and shift of each jaw, by its name, against the bite scan.

    Vertices (m, 3) in mm in one frame, faces (n, 3); `jaws` gives vertices and faces by name.
    """
    bite = scan_surface(bite_vertices, bite_faces)
    if not len(bite.faces):
        because = "The bite scan has no surface."
        return [one.not_known(name, because) for name in jaws for one in QUANTITIES]
    normals = vertex_normals(bite.vertices, bite.faces)
    grids, found = {}, {}
    for name, (vertices, faces) in jaws.items():
        jaw = scan_surface(vertices, faces)
        near = jaw.near(bite, REACH_MM) if len(jaw.faces) else jaw
        grids[name] = Nearest(near.vertices, near.faces, REACH_MM)
        found[name] = grids[name].closest(bite.vertices)
    nearest = np.min([one.distance_mm for one in found.values()], axis=0)
    rows = []
    for name in jaws:
        shown = found[name].is_found & (found[name].distance_mm <= nearest)
        shown &= ~found[name].is_on_border
        shown &= np.einsum("ij,ij->i", normals, found[name].normals()) > AGREE_COSINE
        rows += _rows(name, bite, normals, grids[name], found[name].distance_mm, shown)
    return rows


def _rows(name, bite: Surface, normals, grid, distance, shown):
    count = int(shown.sum())
    if count < LEAST_POINTS:
        because = f"The bite scan shows next to nothing of the {name} within {REACH_MM:.0f} mm."
        return [one.not_known(name, because, points=count) for one in QUANTITIES]
    points, own = bite.vertices[shown], distance[shown]
    middle = points.mean(axis=0)
    rms = RMS.of(
        name,
        np.sqrt(np.mean(own**2)),
        middle,
        points=count,
        median_mm=np.median(own),
        p95_mm=np.quantile(own, 0.95),
        share_within_100_um=np.mean(own <= CLOSE_MM),
        farthest_mm=own.max(),
        farthest_at_mm=points[np.argmax(own)],
    )
    fit = align(points, normals[shown], grid, Rigid.none())
    if fit is None or not fit.is_held:
        because = f"What the bite scan shows of the {name} does not hold it in every direction."
        return [rms, SHIFT.not_known(name, because, middle)]
    moved = fit.rigid.apply(middle[None])[0] - middle
    shift = SHIFT.of(
        name,
        np.linalg.norm(moved),
        middle,
        radius_95(fit.shift_covariance(fit.rigid.apply(middle[None])[0])),
        shift_mm=moved,
        turn_deg=fit.rigid.angle_deg,
        rms_after_mm=fit.rms_mm,
        share_used=fit.share,
    )
    return [rms, shift]
