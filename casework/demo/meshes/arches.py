"""What does an intraoral scanner hand over for an arch, its opponent and the bite?"""

from dataclasses import dataclass, field

import numpy as np

from casework.demo.meshes.bent_grid import BentGrid
from casework.demo.meshes.fields import onto, soft_min
from casework.demo.meshes.jaws import lower_jaw, upper_jaw
from casework.demo.meshes.surface import main_pieces, triangles_of, vertex_normals
from casework.measure.surfaces.fineness import split_long

PARTS = ("tooth", "gingiva", "scan body")
COLOURS = np.array([[226, 212, 186], [205, 122, 118], [178, 182, 190]], dtype=float)
COARSEST_MM = 0.75  # grid step of the trial run that finds the step for a triangle count
# A scanner goes over the sites of the work more often than over the rest.
FINE_MM, FINE_ABOUT_MM = 0.34, 5.5  # longest edge there; distance from an implant's axis
GRID_SHARES = {"far": 1.5, "near": 0.72, "across": 0.8, "up": 0.8}  # of the mean step


@dataclass(eq=False)
class ScanMesh:
    """A scan with the truth it was made from; millimetres in the common frame."""

    vertices: np.ndarray
    faces: np.ndarray
    colours: np.ndarray  # bytes, red green blue per vertex
    parts: np.ndarray  # index into PARTS per vertex
    implants: dict = field(default_factory=dict)  # Implant by site


def _steps(start, end, step, dense_about):
    """Positions along the arch, closer near the implants."""
    places = [start]
    while places[-1] < end:
        close = any(abs(places[-1] - at) < 4.5 for at in dense_about)
        places.append(places[-1] + step * GRID_SHARES["near" if close else "far"])
    return np.array(places)


def _floor(seed, coronal):
    """The ragged edge of a scan, as height over place."""
    a, b, c = np.random.default_rng([seed, 4]).uniform(0, 6.3, 3)

    def floor(s, t):
        wave = 0.9 * np.sin(0.21 * s + a) + 0.5 * np.sin(0.57 * s + b)
        return coronal * (wave + 0.06 * t * np.sin(0.13 * s + c))

    return floor


def _reach(jaw, span):
    """From where to where along the arch a scan goes; `span` names its first and last site."""
    first, last = jaw.gum.ends
    if span is None:
        return first, last
    jaw.require(span)
    ends = sorted((jaw.teeth[site] for site in span), key=lambda tooth: tooth.s)
    low, high = ends[0].s - ends[0].width / 2 - 1.5, ends[1].s + ends[1].width / 2 + 1.5
    middles = [tooth.s for tooth in jaw.teeth.values()]
    return first if low < min(middles) else low, last if high > max(middles) else high


def _heights(jaw):
    """Lowest and highest coronal height that a scan of the jaw holds."""
    tops = [tooth.neck_z * jaw.coronal + tooth.height for tooth in jaw.standing]
    for site, form in jaw.scan_bodies.items():
        implant = jaw.implants[site]
        head = implant.platform + form.height_mm * implant.axis
        tops.append(head[2] * jaw.coronal + 0.5)
    floors = [tooth.neck_z * jaw.coronal - 4.5 for tooth in jaw.teeth.values()]
    floors += [one.platform[2] * jaw.coronal - 3.2 for one in jaw.implants.values()]
    return min(floors), max(tops) + 3.0


def _meshed(build, shape, triangles):
    """Mesh with about the wanted number of triangles: a coarse trial gives the step."""
    _, quads = build(COARSEST_MM).surface(shape, COARSEST_MM)
    step = COARSEST_MM * np.sqrt(2 * len(quads) / triangles)
    grid = build(step)
    at, quads = grid.surface(shape, step)
    return grid, at, quads


def _scan(
    jaw,
    *,
    span=None,
    triangles=60_000,
    noise_um=15.0,
    noise_seed=0,
    is_fine_at_implants=False,
):
    """Mesh one jaw and add the scanner's noise.

    With `is_fine_at_implants` there are more triangles than asked for, there.
    """
    start, end = _reach(jaw, span)
    dense = [jaw.teeth[site].s for site in jaw.implants]
    bottom, top = _heights(jaw)
    shift = np.random.default_rng([noise_seed, 5]).uniform(0.0, 1.0, 3)

    def build(step):
        across, up = GRID_SHARES["across"] * step, GRID_SHARES["up"] * step
        return BentGrid(
            jaw.curve,
            _steps(start + step * shift[0], end, step, dense),
            np.arange(-9.2 + across * shift[1], 9.2, across),
            np.sort(jaw.coronal * np.arange(bottom + up * shift[2], top, up)),
            _floor(jaw.seed, jaw.coronal),
        )

    grid, at, quads = _meshed(build, jaw.field, triangles)
    points = grid.points(*at.T)
    points, faces, _kept = main_pieces(points, triangles_of(points, quads))
    if is_fine_at_implants:
        points, faces = _finer_at_implants(points, faces, jaw)
    layers = np.stack(jaw.layers(points, *jaw.curve.locate(points[:, :2])))
    return _as_seen(points, faces, layers, jaw.implants, noise_um, noise_seed)


def _finer_at_implants(points, faces, jaw):
    """Halve the edges there, and put all corners there onto the surface."""

    def is_near(middles):
        near = np.zeros(len(middles), bool)
        for implant in jaw.implants.values():
            local = implant.local(middles)
            near |= np.hypot(local[:, 0], local[:, 1]) < FINE_ABOUT_MM
        return near

    def field(places):
        return jaw.field(places, *jaw.curve.locate(places[:, :2]))

    points, faces = split_long(points, faces, FINE_MM, is_meant=is_near)
    there = is_near(points)
    points[there] = onto(points[there], field, FINE_MM / 2)
    return points, faces


def _as_seen(points, faces, layers, implants, noise_um, noise_seed):
    """Colours by the nearest part, and noise along the normals."""
    parts = layers.argmin(axis=0)
    random = np.random.default_rng([noise_seed, 6])
    colours = COLOURS[parts] + random.normal(0, 3, (len(points), 1))
    near_gum = np.clip(2.0 - layers[1], 0, 2)[:, None] * (parts == 0)[:, None]
    colours -= near_gum * [5, 9, 16]  # teeth are darker toward the gum
    if noise_um:
        amount = random.normal(0.0, noise_um / 1000.0, len(points))
        points = points + vertex_normals(points, faces) * amount[:, None]
    colours = np.clip(colours, 0, 255).astype(np.uint8)
    return ScanMesh(points, faces, colours, parts, dict(implants))


def lower_arch(
    seed,
    missing=("45", "46", "47"),
    scan_bodies=None,
    prepared=(),
    *,
    implants=None,
    **scanned,
):
    """A scan of the lower jaw; the same seed is the same patient, `noise_seed` one scanning."""
    return _scan(lower_jaw(seed, missing, scan_bodies, implants, prepared), **scanned)


def upper_arch(seed, missing=(), scan_bodies=None, prepared=(), *, implants=None, **scanned):
    """A scan of the upper jaw in its bite with the complete lower jaw of the same patient."""
    return _scan(upper_jaw(seed, missing, scan_bodies, implants, prepared), **scanned)


def bite_scan(
    seed,
    missing=("45", "46", "47"),
    *,
    implants=None,
    span=("43", "47"),
    triangles=20_000,
    noise_um=15.0,
    noise_seed=0,
):
    """The cheek side of both jaws in the bite, between two lower sites."""
    lower = lower_jaw(
        seed,
        [site for site in missing if site[0] in "34"],
        implants=implants and [site for site in implants if site[0] in "34"],
    )
    upper = upper_jaw(
        seed,
        [site for site in missing if site[0] in "12"],
        implants=implants and [site for site in implants if site[0] in "12"],
    )
    start, end = _reach(lower, span)
    shift = np.random.default_rng([noise_seed, 7]).uniform(0.0, 1.0, 3)
    near = [tooth for tooth in upper.teeth.values() if start < tooth.s < end]
    top = max(tooth.neck_z for tooth in near) + 3.5
    bottom = _heights(lower)[0] + 1.0

    def build(step):
        return BentGrid(
            lower.curve,
            np.arange(start + step * shift[0], end, step),
            np.arange(1.0 + step * shift[1], 10.5, step),
            np.arange(bottom + step * shift[2], top, step),
            _floor(seed, 1.0),
        )

    def both(points, s, t):
        above = upper.field(points, *upper.curve.locate(points[:, :2]))
        return soft_min(lower.field(points, s, t), above, 0.25)

    grid, at, quads = _meshed(build, both, triangles)
    points = grid.points(*at.T)
    points, faces, kept = main_pieces(points, triangles_of(points, quads), 0.1)
    below = np.stack(lower.layers(points, *at[kept, :2].T))
    above = np.stack(upper.layers(points, *upper.curve.locate(points[:, :2])))
    layers = np.minimum(below, above)
    return _as_seen(
        points, faces, layers, lower.implants | upper.implants, noise_um, noise_seed
    )
