"""How fast are screws, drivers and paths measured beside the general-purpose ways?"""

import numpy as np
from scipy.spatial import cKDTree

from casework.benchmark.bored_parts import abutment, cone_with_slanted_top, ring
from casework.benchmark.measuring import Comparison, best_of
from casework.measure.channels import Part, channel_of, legs_of
from casework.measure.drivers import Obstacle, driver_path
from casework.measure.relations import Wall, insertion_path
from casework.measure.screws import measure_screw
from casework.measure.surfaces.poses import Pose

TRIANGLES = 88_000  # of an abutment at scale 1
ARCH_TRIANGLES = 570_000
LEVELS = 6  # heights that the fan is timed at; its cost grows with their number
FAN_STEP_MM, FAN_STEP_DEG = 0.05, 1
SPACING_MM = 0.2  # of points on the driver
SCREW = {"head_diameter_mm": 1.8, "head_height_mm": 1.6, "seat_height_mm": 1.0}
DRIVER = {"tip_diameter_mm": 1.2, "tip_length_mm": 1.5, "shank_diameter_mm": 1.7,
          "shank_length_mm": 16.5, "length_mm": 26.0, "handle_diameter_mm": 4.0}  # fmt: skip
UP = Pose.of([0, 0, 0], [0, 0, 1])


def compare(scale: float = 1.0) -> list[Comparison]:
    """Return channel, driver and path beside a fan of rays, a tree of vertices and a grid."""
    return [_channel(scale), _driver(scale), _path()]


def _channel(scale):
    """Everything about one screw, beside a fan of rays for its wall alone."""
    body = _fine(*abutment(), TRIANGLES * scale)
    part = Part("abutment", *body)
    heights = np.arange(0.5, 6.5, FAN_STEP_MM)
    some = heights[:: len(heights) // LEVELS]
    fan = best_of(lambda: _fan(*body, some)) * len(heights) / len(some)
    slanted = cone_with_slanted_top(3.0, 0.1, 6.0, 1.1, 40)
    true = channel_of(Part("cone", *slanted), legs_of(UP, 0.0)[0], 0.3).wall()[0]
    wrong = _fan(*slanted, np.arange(5.0, 6.9, FAN_STEP_MM))
    return Comparison(
        "screw, driver and wall in an abutment",
        best_of(lambda: measure_screw("45", UP, [part], SCREW, DRIVER)), fan,
        f"{len(body[1])} triangles; {true:.3f} mm under a slanted top is right",
        f"the wall alone: all hits of {len(heights)} x 360 rays with numpy, extrapolated from"
        f" {len(some)} heights; {wrong:.3f} mm under the slanted top",
    )  # fmt: skip


def _fan(vertices, faces, heights):
    """The least way from the first to the last hit of rays across the axis (textbook)."""
    a, b, c = (vertices[faces[:, k]] for k in range(3))
    low = np.minimum(np.minimum(a[:, 2], b[:, 2]), c[:, 2])
    high = np.maximum(np.maximum(a[:, 2], b[:, 2]), c[:, 2])
    least = np.inf
    for z in heights:
        met = (low <= z) & (high >= z)
        start, u, v = a[met], b[met] - a[met], c[met] - a[met]
        off = np.array([0.0, 0.0, z]) - start
        q = np.cross(off, u)
        for turn in np.radians(np.arange(0, 360, FAN_STEP_DEG)):
            way = np.array([np.cos(turn), np.sin(turn), 0.0])
            p = np.cross(way, v)
            whole = np.einsum("ij,ij->i", u, p)
            whole = np.where(np.abs(whole) > 1e-12, whole, np.inf)
            s, t = np.einsum("ij,ij->i", off, p) / whole, q @ way / whole
            far = np.einsum("ij,ij->i", v, q) / whole
            hits = far[(s >= 0) & (t >= 0) & (s + t <= 1) & (far > 0) & np.isfinite(whole)]
            if len(hits) > 1:
                least = min(least, hits.max() - hits.min())
    return least


def _driver(scale):
    """The driver against both arches, beside the nearest vertices from a tree."""
    side = int(np.sqrt(ARCH_TRIANGLES * scale / 2))
    vertices, faces = _sheet(side)
    working = Obstacle("working", vertices, faces)
    opposing = Obstacle("opposing", vertices * [1, 1, -1] + [0, 0, 16.0], faces[:, ::-1])
    points = _on_driver()

    def ours():
        driver_path("46", {"46": UP}, SCREW, DRIVER, None, working, opposing, 40.0)

    def theirs():
        for jaw in (working, opposing):
            cKDTree(jaw.vertices).query(points)

    return Comparison(
        "driver against both arches", best_of(ours), best_of(theirs),
        f"2 x {len(faces)} triangles, exact, scatter left out, smoothed",
        f"scipy's tree of the vertices, asked at {len(points)} points on the driver: corners"
        " only, noise and scatter in it",
    )  # fmt: skip


def _on_driver():
    """Points so far apart on shank and handle."""
    found = []
    for radius, low, high in ((0.85, 3.0, 18.0), (2.0, 18.0, 26.0)):
        count = int(2 * np.pi * radius / SPACING_MM)
        found += [ring(radius, z, count) for z in np.arange(low, high, SPACING_MM)]
    return np.vstack(found)


def _path():
    """The common path of two posts, beside a grid of directions a degree apart."""
    walls = [_post("45", -4.0, 0.0), _post("47", 4.0, 18.0)]
    normals = np.vstack([wall.normals for wall in walls])
    return Comparison(
        "common path of two posts",
        best_of(lambda: insertion_path(walls)),
        best_of(lambda: _grid(normals)),
        f"{sum(len(wall.faces) for wall in walls)} triangles, with the depth of undercut",
        "directions 1 degree apart, up to half a degree off, without undercut",
    )


def _grid(normals):
    steps = np.radians(np.arange(-20, 21))
    x, y = (np.tan(one.ravel()) for one in np.meshgrid(steps, steps))
    tried = np.column_stack([x, y, np.ones_like(x)])
    tried /= np.linalg.norm(tried, axis=1)[:, None]
    return tried[np.argmax((normals @ tried.T).min(axis=0))]


def _post(site, lean_deg, at):
    rings = [ring(2.5 - 0.1 * z, z) for z in np.linspace(0, 5, 30)]
    k = np.arange(len(rings[0]))
    after = (k + 1) % len(k)
    faces = [
        np.column_stack([one * len(k) + corner for corner in corners])
        for one in range(29)
        for corners in ((k, after, after + len(k)), (k, after + len(k), k + len(k)))
    ]
    lean = np.radians(lean_deg)
    pose = Pose.of([at, 0, 0], [np.sin(lean), 0, np.cos(lean)])
    return Wall.of(site, pose.to_world(np.vstack(rings)), np.vstack(faces))


def _sheet(side, size_mm=70.0):
    """A wavy arch stand-in: a sheet with a well of 5 mm radius around the axis."""
    steps = np.linspace(-size_mm / 2, size_mm / 2, side + 1)
    x, y = np.meshgrid(steps, steps, indexing="ij")
    z = 8.0 + np.sin(x) * np.cos(y) - 9.0 * np.exp(-(((x * x + y * y) / 40.0) ** 2))
    i, j = (one.ravel() for one in np.meshgrid(np.arange(side), np.arange(side), indexing="ij"))
    a = i * (side + 1) + j
    faces = np.concatenate(
        [np.column_stack([a, a + side + 1, a + side + 2]),
         np.column_stack([a, a + side + 2, a + 1])]
    )  # fmt: skip
    return np.column_stack([x.ravel(), y.ravel(), z.ravel()]), faces.astype(np.int32)


def _fine(vertices, faces, wanted):
    """The body with its triangles quartered until there are about so many."""
    import trimesh

    while len(faces) * 2 < wanted:
        vertices, faces = trimesh.remesh.subdivide(vertices, faces)
    return vertices, faces.astype(np.int32)
