"""How exactly are gaps, overlaps and contacts measured?"""

import numpy as np

from casework.benchmark.accuracy import Row, summary
from casework.benchmark.accuracy.walls import seated
from casework.benchmark.turned_parts import divided, drawn_parts, turned
from casework.measure.fit import Neighbours, contact, seat_fit
from casework.measure.surfaces.normals import vertex_normals

BALL_MM = 4.0
BALL_SIDES = 168  # edges of 0.15 mm


def rows(seeds: int = 30) -> list[Row]:
    """Return the errors over so many seeded crowns, and balls beside boxes, of each kind."""
    found = _gaps(seeds) + _overlaps(seeds)
    for noise_um in (10, 20, 30):
        found += _contacts(seeds, noise_um)
    return found


def _gaps(seeds):
    even, least, margin = [], [], []
    for seed in range(seeds):
        random = np.random.default_rng([seed, 7])
        gap = random.uniform(0.02, 0.1)
        shift = random.uniform(0, 0.8) * gap
        # The wall is wider than any shoulder, so that the crown covers the margin.
        parts, rigid = drawn_parts([seed, 6], gap=gap, seat_shift=shift, wall=1.2)
        cement, closest, marginal = seat_fit(seated(parts, rigid), "36")
        even.append(1000 * (cement.value - parts.gap))
        least.append(1000 * (closest.value - (parts.gap - shift * parts.cosine)))
        margin.append(1000 * (marginal.details["median_mm"] - parts.gap))
    condition = "gap 20 to 100 µm, crown shifted in it"
    return [
        summary("cement gap, median", "µm", condition, even),
        summary("least gap", "µm", condition, least),
        summary("gap at the margin, median", "µm", condition, margin),
    ]


def _overlaps(seeds):
    depth = []
    for seed in range(seeds):
        over = np.random.default_rng([seed, 8]).uniform(0.005, 0.06)
        parts, rigid = drawn_parts([seed, 9], gap=-over)
        _, closest, _ = seat_fit(seated(parts, rigid), "36")
        depth.append(1000 * (closest.value + over))
    return [summary("overlap", "µm", "5 to 60 µm", depth)]


def _contacts(seeds, noise_um):
    """A box beside a noisy ball: the gap along the line through its middle."""
    errors = []
    turn = np.pi * np.linspace(0, 1, BALL_SIDES // 2 + 1)[1:-1]
    profile = [(BALL_MM * np.sin(t), -BALL_MM * np.cos(t)) for t in turn]
    profile = [(0.0, -BALL_MM), *profile, (0.0, BALL_MM)]
    ball, faces = turned(*divided(profile, 0.0), BALL_SIDES)
    out = vertex_normals(ball, faces)
    for seed in range(seeds):
        random = np.random.default_rng([seed, 10, noise_um])
        away = random.uniform(-0.05, 0.15)
        scan = ball + out * random.normal(0, noise_um / 1000, len(ball))[:, None]
        box = [(0.0, -5.0), (3.0, -5.0), (3.0, 3.0), (0.0, 3.0)]
        part, part_faces = turned(*divided(box, 0.2), 4)
        part = part @ _eighth().T + [-(BALL_MM + away) - 3 * np.sqrt(0.5), 0, 0]
        measured = contact(
            part, part_faces, Neighbours(scan, faces), "36", "mesial",
            np.array([1.0, 0, 0]), np.array([0, 0, 1.0]),
        )  # fmt: skip
        errors.append(1000 * (measured.value - away))
    condition = f"scan noise {noise_um} µm"
    return [summary("contact", "µm", condition, errors)]


def _eighth():
    """A turn by 45 degrees about z: a four-sided body then faces x with a side."""
    c = np.sqrt(0.5)
    return np.array([[c, -c, 0], [c, c, 0], [0, 0, 1.0]])
