"""How exactly are clearance and overlap measured on scans that are noisy?

A ball stands under a cap of a larger sphere, which is the scan: how far both are apart where
they come nearest, and how large the cap of one inside the other is, is elementary geometry.
"""

import numpy as np
from scipy.spatial.transform import Rotation

from casework.benchmark.accuracy import Row, summary
from casework.measure.bite import clearance, jaws_in_bite

EDGE_MM = 0.14
HALF_MM = 3.5
NOISES_UM = (0, 10, 20, 30)


def rows(seeds: int = 30) -> list[Row]:
    """Return the errors over so many seeded balls for each noise."""
    found = []
    for noise_um in NOISES_UM:
        found += _clearances(seeds, noise_um)
    return [*found, *_jaws(seeds)]


def _clearances(seeds, noise_um):
    settled, raw, area, outside = [], [], [], []
    for seed in range(seeds):
        random = np.random.default_rng([seed, noise_um])
        gap, ball_mm, scan_mm = (
            random.uniform(-0.1, 0.6), random.uniform(3.0, 6.0), random.uniform(9.0, 20.0)
        )  # fmt: skip
        ball = _cap(random, ball_mm, 0.0, outwards=True)
        scan = _cap(random, scan_mm, noise_um / 1000, outwards=False, lift=gap)
        turn = Rotation.random(rng=random).as_matrix()
        measured = clearance(ball[0] @ turn.T, ball[1], scan[0] @ turn.T, scan[1], "26")
        row, _, overlap = measured
        settled.append(1000 * (row.value - gap))
        raw.append(1000 * (row.details["raw_mm"] - gap))
        outside.append(abs(row.value - gap) > row.uncertainty + 0.002)
        area.append(overlap.value - _overlap_mm2(gap, ball_mm, scan_mm))
    condition = f"noise {noise_um} µm"
    return [
        summary("clearance", "µm", condition, settled),
        summary("clearance, raw minimum", "µm", condition, raw),
        summary("clearance beyond its 95 % interval", "", condition, np.array(outside, float)),
        summary("area of overlap", "mm²", condition, area),
    ]


def _jaws(seeds):
    errors = []
    for seed in range(seeds):
        random = np.random.default_rng([seed, 99])
        gap = random.uniform(-0.1, 0.6)
        lower = _cap(random, random.uniform(5.0, 9.0), 0.02, outwards=True)
        upper = _cap(random, random.uniform(9.0, 20.0), 0.02, outwards=False, lift=gap)
        measured = jaws_in_bite(*lower, *upper, "jaws")
        errors.append(1000 * (measured[0].value - gap))
    return [summary("distance of two scanned jaws", "µm", "noise 20 µm on both", errors)]


def _overlap_mm2(gap, ball_mm, scan_mm):
    """Area of the ball's cap inside the sphere of the scan, which hangs over it."""
    if gap >= 0:
        return 0.0
    apart = ball_mm + scan_mm + gap
    height = ball_mm - (apart**2 + ball_mm**2 - scan_mm**2) / (2 * apart)
    return 2 * np.pi * ball_mm * height


def _cap(random, radius, noise_mm, *, outwards, lift=0.0):
    """A cap with its tip near the origin: of a sphere below it, or of one above, lifted.

    Its material lies inside the sphere; its grid is shifted at random.
    """
    half = min(HALF_MM, 0.6 * radius)
    steps = np.arange(-half, half, EDGE_MM)
    x, y = np.meshgrid(steps, steps, indexing="ij")
    x, y = x + random.uniform(0, EDGE_MM), y + random.uniform(0, EDGE_MM)
    drop = radius - np.sqrt(radius**2 - x * x - y * y)
    sign = 1.0 if outwards else -1.0
    vertices = np.stack([x, y, lift - sign * drop], axis=-1).reshape(-1, 3)
    away = (vertices - [0, 0, lift - sign * radius]) / radius
    vertices = vertices + away * random.normal(0, noise_mm, (len(vertices), 1))
    n = len(steps)
    i = (np.arange(n - 1)[:, None] * n + np.arange(n - 1)[None, :]).ravel()
    faces = np.vstack([np.stack([i, i + n, i + n + 1], 1), np.stack([i, i + n + 1, i + 1], 1)])
    return vertices, faces if outwards else faces[:, ::-1]
