"""Which invented scans hold scan bodies of known pose, half hidden, noisy and damaged as asked?

The bodies are fields and polygons, made without the reference forms that are laid on them.
"""

from dataclasses import dataclass, field

import numpy as np
from scipy.spatial.transform import Rotation

from casework.demo.meshes import ScanBodyForm, lower_arch
from casework.demo.meshes.fields import settle, soft_min
from casework.demo.meshes.scan_bodies import scan_body_field
from casework.demo.meshes.surface import main_pieces, surface_nets, triangles_of, vertex_normals
from casework.measure.surfaces.poses import Pose, Rigid

FLAT = ScanBodyForm()
FLAT_TEXT = "diameter=4.5,height=8,flat_depth=0.7,flat_from=3.6,bevel=0.4"
SLOPE = {"radius": 2.1, "height": 7.0, "deg": 40.0, "depth": 1.9}
SLOPE_TEXT = "diameter=4.2,height=7,slope=40,slope_depth=1.9"
# Corners of a five-sided prism, millimetres; no turn but a whole one brings it back.
PRISM = np.array([[2.3, -1.1], [2.3, 1.1], [0.2, 2.2], [-2.1, 1.3], [-1.6, -1.9]])
PRISM_HEIGHT_MM = 7.5
GUM_MM = 2.6  # the gum's crest above the platform
BLEND_MM = 0.12
EMPTY_MM = 9.0


@dataclass(eq=False)
class Scanned:
    """A scan: vertices, faces, and each body's kind and true pose."""

    vertices: np.ndarray
    faces: np.ndarray
    bodies: list = field(default_factory=list)  # (kind, Pose)


def prism_mesh():
    """The closed prism in its implant's coordinates, by its corners."""
    count = len(PRISM)
    low, high = (np.column_stack([PRISM, np.full(count, z)]) for z in (0.0, PRISM_HEIGHT_MM))
    faces = [(k, (k + 1) % count, count + (k + 1) % count) for k in range(count)]
    faces += [(k, count + (k + 1) % count, count + k) for k in range(count)]
    faces += [(0, k + 1, k) for k in range(1, count - 1)]
    faces += [(count, count + k, count + k + 1) for k in range(1, count - 1)]
    return np.concatenate([low, high]), np.array(faces)


def _slope_field(local):
    x, y, z = local.T
    turn = np.radians(SLOPE["deg"])
    slope = np.sin(turn) * (x - SLOPE["radius"]) + np.cos(turn) * (
        z - SLOPE["height"] + SLOPE["depth"]
    )
    side = np.hypot(x, y) - SLOPE["radius"]
    return np.maximum(np.maximum(side, z - SLOPE["height"]), np.maximum(slope, -z))


def _prism_field(local):
    value = np.maximum(local[:, 2] - PRISM_HEIGHT_MM, -local[:, 2])
    for one, two in zip(PRISM, np.roll(PRISM, -1, axis=0), strict=True):
        away = np.array([two[1] - one[1], one[0] - two[0]]) / np.linalg.norm(two - one)
        value = np.maximum(value, (local[:, :2] - one) @ away)
    return value


FIELDS = {
    "flat": lambda local: scan_body_field(FLAT, local),
    "slope": _slope_field,
    "prism": _prism_field,
}


def segment(
    seed, kinds, *, noise_um=20.0, coverage=0.6, tilt_deg=5.0, step_mm=0.15, damage=False
) -> Scanned:
    """A piece of jaw with bodies in a row between two teeth, somewhere in space.

    `coverage` is the share of each body's seen vertices that stay when one side of it is cut
    away; `damage` tears holes into what stays and adds stray islands.
    """
    random = np.random.default_rng([seed, 41])
    poses = []
    for place, _kind in enumerate(kinds):
        turn, way = np.radians(tilt_deg) * random.uniform(0.3, 1), random.uniform(0, 2 * np.pi)
        axis = [np.sin(turn) * np.cos(way), np.sin(turn) * np.sin(way), np.cos(turn)]
        origin = [9.0 * place + random.uniform(-0.3, 0.3), random.uniform(-0.5, 0.5), -GUM_MM]
        poses.append(Pose.of(origin, axis, random.normal(size=3)))
    wave = random.uniform(0.3, 0.9, 2)
    teeth = [(-7.0, 3.6, 4.6, 7.5), (9.0 * (len(kinds) - 1) + 7.0, 3.9, 4.9, 6.5)]
    sizes = random.uniform(0.95, 1.05, (2, 3))

    def bodies(points):
        values = [
            FIELDS[kind](pose.to_local(points)) for kind, pose in zip(kinds, poses, strict=True)
        ]
        return np.array(values)

    def shape(points):
        gum = points[:, 2] - 0.3 * np.sin(wave[0] * points[:, 0]) + 0.04 * points[:, 1] ** 2
        value = 0.9 * gum
        for (x, a, b, c), size in zip(teeth, sizes, strict=True):
            away = (points - [x, 0, 0]) / (size * [a, b, c])
            tooth = (np.sum(np.abs(away) ** 2.6, axis=1) ** (1 / 2.6) - 1) * a
            value = soft_min(value, tooth, BLEND_MM)
        return np.minimum(value, bodies(points).min(axis=0))

    vertices, faces = _meshed(shape, teeth[0][0] - 6, teeth[1][0] + 6, step_mm, random)
    value = bodies(vertices)
    body_of = np.where(value.min(axis=0) < 0.05, value.argmin(axis=0), -1)
    scan = _seen(vertices, faces, body_of, poses, random, noise_um, coverage)
    scan = _moved(*scan, list(zip(kinds, poses, strict=True)), random)
    return _damaged(scan, random) if damage else scan


def arch(seed, *, noise_um=20.0, coverage=0.6, triangles=60_000, span=("43", "47")) -> Scanned:
    """The demo's lower jaw with two bodies, somewhere in space."""
    random = np.random.default_rng([seed, 42])
    scan = lower_arch(
        seed, ("45", "46", "47"), {"45": FLAT, "47": FLAT}, implants=("45", "47"), span=span,
        triangles=triangles, noise_um=0.0, noise_seed=seed,
    )  # fmt: skip
    poses = [Pose.of(one.platform, one.axis, one.flat) for one in scan.implants.values()]
    near = np.array([np.linalg.norm(scan.vertices - one.origin_mm, axis=1) for one in poses])
    body_of = np.where(scan.parts == 2, near.argmin(axis=0), -1)
    seen = _seen(scan.vertices, scan.faces, body_of, poses, random, noise_um, coverage)
    return _moved(*seen, [("flat", one) for one in poses], random)


def _meshed(shape, left, right, step, random):
    axes = [
        np.arange(low + step * shift, high, step)
        for low, high, shift in zip(
            (left, -6.5, -2.0), (right, 6.5, 9.5), random.uniform(0, 1, 3), strict=True
        )
    ]
    values = np.empty([len(axis) for axis in axes], np.float32)
    for k, x in enumerate(axes[0]):
        y, z = np.meshgrid(axes[1], axes[2], indexing="ij")
        points = np.column_stack([np.full(y.size, x), y.ravel(), z.ravel()])
        values[k] = shape(points).reshape(y.shape)
    places, quads = surface_nets(values)
    points = np.array([axis[0] for axis in axes]) + places * step
    points, faces, _ = main_pieces(points, triangles_of(points, quads))
    return settle(points, shape, 0.35 * step), faces


def _seen(vertices, faces, body_of, poses, random, noise_um, coverage):
    """Cut one side of each body away, then add the noise along the normals."""
    normals = vertex_normals(vertices, faces)
    stays = np.ones(len(vertices), bool)
    for number, pose in enumerate(poses):
        way = random.uniform(0, 2 * np.pi)
        across = np.cos(way) * pose.toward + np.sin(way) * np.cross(pose.axis, pose.toward)
        mine = np.flatnonzero(body_of == number)
        along = vertices[mine] @ across
        stays[mine[along > np.quantile(along, coverage)]] = False
    vertices = vertices + normals * random.normal(0, noise_um / 1000, len(vertices))[:, None]
    return vertices, faces[stays[faces].all(axis=1)]


def _moved(vertices, faces, bodies, random):
    motion = Rigid(
        Rotation.random(random_state=int(random.integers(2**31))).as_matrix(),
        random.uniform(-40, 40, 3),
    )
    vertices, faces, _ = main_pieces(motion.apply(vertices), faces, 0.001)
    return Scanned(vertices, faces, [(kind, pose.moved(motion)) for kind, pose in bodies])


def _damaged(scan, random):
    """Holes of up to 1.4 mm everywhere, and stray islands beside the bodies."""
    vertices, faces = scan.vertices, scan.faces
    keeps = np.ones(len(vertices), bool)
    for _kind, pose in scan.bodies:
        for _hole in range(6):
            at = vertices[random.integers(len(vertices))]
            near = pose.to_world(random.uniform([-3, -3, 2], [3, 3, 8])[None])[0]
            for middle in (at, near):
                away = np.linalg.norm(vertices - middle, axis=1)
                keeps &= away > random.uniform(0.4, 1.4)
    faces = faces[keeps[faces].all(axis=1)]
    count, stray, triangles = len(vertices), [], []
    for _kind, pose in scan.bodies:
        for _island in range(8):
            at = pose.to_world(random.uniform([-6, -6, 3], [6, 6, 10])[None])[0]
            triangles.append(count + np.arange(3))
            stray.append(at + random.normal(0, 0.2, (3, 3)))
            count += 3
    vertices = np.concatenate([vertices, *stray])
    return Scanned(vertices, np.concatenate([faces, triangles]), scan.bodies)
