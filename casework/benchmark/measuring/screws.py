"""How fast are screws, drivers and paths measured beside the general-purpose ways?"""

import time

import numpy as np

from casework.benchmark.bored_parts import abutment, cone_with_slanted_top, ring
from casework.benchmark.measuring import Comparison
from casework.measure.channels import Part, channel_of, legs_of
from casework.measure.drivers import Obstacle, driver_path
from casework.measure.relations import Wall, insertion_path
from casework.measure.screws import measure_screw
from casework.measure.surfaces.poses import Pose

TRIANGLES = 88_000  # of an abutment at scale 1
ARCH_TRIANGLES = 570_000
RAYS = 24  # that the fan is timed on; its cost grows with their number
FAN_STEP_MM, FAN_STEP_DEG = 0.05, 1.0
ASKED = 12  # points of the driver that the library is timed on
SPACING_MM = 0.2  # of points on the driver
SCREW = {"head_diameter_mm": 1.8, "head_height_mm": 1.6, "seat_height_mm": 1.0}
DRIVER = {"tip_diameter_mm": 1.2, "tip_length_mm": 1.5, "shank_diameter_mm": 1.7,
          "shank_length_mm": 16.5, "length_mm": 26.0, "handle_diameter_mm": 4.0}  # fmt: skip
UP = Pose.of([0, 0, 0], [0, 0, 1])


def compare(scale: float = 1.0) -> list[Comparison]:
    """Return channel, driver and path beside a fan of rays, trimesh and a grid, all warm."""
    import trimesh

    return [_channel(scale), _driver(trimesh, scale), _path()]


def _channel(scale):
    """Everything about one screw, beside a fan of rays for its wall alone."""
    body = _fine(*abutment(), TRIANGLES * scale)
    part = Part("abutment", *body)
    rays = int(7.0 / FAN_STEP_MM) * int(360 / FAN_STEP_DEG)
    fan = _timed(lambda: _fan(*body, np.linspace(0.5, 6.5, RAYS)))
    slanted = cone_with_slanted_top(3.0, 0.1, 6.0, 1.1, 40)
    true = channel_of(Part("cone", *slanted), legs_of(UP, 0.0)[0], 0.3).wall()[0]
    wrong = _fan(*slanted, np.linspace(5.0, 6.9, 400))
    return Comparison(
        "screw, driver and wall in an abutment",
        _timed(lambda: measure_screw("45", UP, [part], SCREW, DRIVER)), fan * rays / RAYS,
        f"{len(body[1])} triangles; a wall of {true:.3f} mm under a slanted top is right",
        f"the wall alone: every hit of {rays} rays, extrapolated from {RAYS}; {wrong:.3f} mm"
        " under the slanted top",
    )  # fmt: skip


def _fan(vertices, faces, heights):
    """The least way between the first and the last hit of rays across the axis (textbook)."""
    a, b, c = (vertices[faces[:, k]] for k in range(3))
    u, v = b - a, c - a
    least = np.inf
    for k, z in enumerate(heights):
        turn = np.radians(137.5 * k)  # spread evenly
        way = np.array([np.cos(turn), np.sin(turn), 0.0])
        p = np.cross(way, v)
        whole = np.einsum("ij,ij->i", u, p)
        whole = np.where(np.abs(whole) > 1e-12, whole, np.inf)
        off = np.array([0.0, 0.0, z]) - a
        s = np.einsum("ij,ij->i", off, p) / whole
        q = np.cross(off, u)
        t = q @ way / whole
        far = np.einsum("ij,ij->i", v, q) / whole
        hits = far[(s >= 0) & (t >= 0) & (s + t <= 1) & (far > 0) & np.isfinite(whole)]
        if len(hits) > 1:
            least = min(least, hits.max() - hits.min())
    return least


def _driver(trimesh, scale):
    """The driver against both arches, beside the nearest points of a library."""
    side = int(np.sqrt(ARCH_TRIANGLES * scale / 2))
    vertices, faces = _sheet(side)
    working = Obstacle("working", vertices, faces)
    opposing = Obstacle("opposing", vertices * [1, 1, -1] + [0, 0, 16.0], faces[:, ::-1])
    mesh = trimesh.Trimesh(vertices, faces, process=False)
    area = 2 * np.pi * (0.85 * 18 + 2.0 * 8)
    points = np.column_stack([np.full(ASKED, 1.0), np.zeros(ASKED), np.linspace(1, 18, ASKED)])
    theirs = _timed(lambda: trimesh.proximity.closest_point_naive(mesh, points), rounds=1)
    count = area / SPACING_MM**2
    return Comparison(
        "driver against both arches",
        _timed(
            lambda: driver_path(
                "46", {"46": UP}, SCREW, DRIVER, None, working, opposing, 40.0
            )
        ),
        2 * theirs * count / ASKED,
        f"2 x {len(faces)} triangles, smoothed where near",
        f"{count:.0f} points on the driver, every triangle, extrapolated from {ASKED}",
    )  # fmt: skip


def _path():
    """The common path of two posts, beside a grid of directions a degree apart."""
    walls = [_post("45", -4.0, 0.0), _post("47", 4.0, 18.0)]
    normals = np.vstack([wall.normals for wall in walls])
    return Comparison(
        "common path of two posts",
        _timed(lambda: insertion_path(walls)),
        _timed(lambda: _grid(normals)),
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


def _timed(call, rounds=3):
    call()
    best = np.inf
    for _ in range(rounds):
        start = time.perf_counter()
        call()
        best = min(best, time.perf_counter() - start)
    return best
