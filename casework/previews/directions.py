"""Which way do the teeth of a scan point, and on which side is the front of the mouth?"""

import numpy as np

# A scan that is no wider shows one side of a jaw: its form tells no front.
LEAST_ARCH_MM = 42.0
LEAST_SHARE = 0.75  # of that along the shorter direction
STRIP_SHARE = 0.1  # of the width: the strip between the halves, on either side of the middle


def facing_of(vertices: np.ndarray, faces: np.ndarray) -> np.ndarray:
    """Return the mean direction (3,) in which a surface faces, from the gums to the teeth.

    A scan is open below: what its sides say cancels out, and what looks toward the other jaw
    remains (the vector area of a closed surface is zero). The last axis where nothing remains.
    """
    a, b, c = (vertices[faces[:, i]] for i in range(3))
    total = np.cross(b - a, c - a).sum(axis=0)
    length = np.linalg.norm(total)
    return total / length if length > 1e-9 else np.array([0.0, 0.0, 1.0])


def front_of(vertices: np.ndarray, facing: np.ndarray) -> np.ndarray | None:
    """Return the direction (3,) toward the front teeth of a whole arch, None for a part of one.

    An arch is the same on both sides of one of its main directions; between its two halves it
    reaches to its closed end and stops far short of its open one.
    """
    flat = vertices - np.outer(vertices @ facing, facing)
    centred = flat - flat.mean(axis=0)
    axes = np.linalg.eigh(centred.T @ centred)[1].T[1:]  # the first runs along `facing`
    along = centred @ axes.T
    low, high = along.min(axis=0), along.max(axis=0)
    size = high - low
    if size.max() < LEAST_ARCH_MM or size.min() < LEAST_SHARE * LEAST_ARCH_MM:
        return None
    best, most = None, 0.0
    for one, other in ((0, 1), (1, 0)):
        middle = (low[other] + high[other]) / 2
        strip = along[np.abs(along[:, other] - middle) < STRIP_SHARE * size[other], one]
        if not len(strip):
            continue
        open_mm = (strip.min() - low[one]) - (high[one] - strip.max())
        if abs(open_mm) > most:
            best, most = axes[one] * np.sign(open_mm), abs(open_mm)
    return best
