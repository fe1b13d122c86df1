"""Which parts have a screw channel whose wall, seat and exit elementary geometry gives?"""

import numpy as np

SIDES = 256
FLAT = np.cos(np.pi / SIDES)  # a facet's middle lies so much nearer than its edges


def ring(radius, z, sides=SIDES):
    """Points (sides, 3) of a circle around z; radius and z may change around it."""
    turn = 2 * np.pi * np.arange(sides) / sides
    return np.column_stack([radius * np.cos(turn), radius * np.sin(turn), z + 0 * turn])


def closed_ring(rings):
    """Vertices, faces of the body whose outline runs through rings (sides, 3) and back."""
    sides, count = len(rings[0]), len(rings)
    k, after = np.arange(sides), (np.arange(sides) + 1) % sides
    faces = []
    for one in range(count):
        a, b = one * sides, (one + 1) % count * sides
        faces += [np.column_stack([a + k, a + after, b + after])]
        faces += [np.column_stack([a + k, b + after, b + k])]
    return np.vstack(rings), np.vstack(faces).astype(np.int32)


def abutment(bore=1.05, seat=1.0, shaft=0.75, top=7.0, shift=0.0, wall=1.2, sides=SIDES):
    """A stepped bore in a post; its outside may be shifted toward x.

    The wall around the bore is `wall` less what the shift takes off, along z from 3 to `top`.
    """
    post = bore + wall
    inner = [(bore, top), (bore, seat), (shaft, seat), (shaft, -1.0), (1.2, -1.0), (1.2, 0.0)]
    outer = [(post + 0.3, 0.0), (post + 1.0, 2.4), (post, 3.0), (post, top)]
    rings = [ring(radius, z, sides) for radius, z in inner]
    return closed_ring(rings + [ring(r, z, sides) + [shift, 0.0, 0.0] for r, z in outer])


def cone_with_slanted_top(low, slope, height, bore, tilt_deg, sides=SIDES):
    """A frustum of radius `low` - `slope` z with a bore; its top is a plane.

    The top passes through (0, 0, height) and rises toward x. The mantle is divided on half the
    way to the top's lowest place.
    """
    turn = 2 * np.pi * np.arange(sides) / sides
    rise = np.tan(np.radians(tilt_deg))
    rim = (low - slope * height) / (1 + slope * rise * np.cos(turn))
    half = (height + rise * rim * np.cos(turn)).min() / 2
    return closed_ring([
        ring(bore, 0.0, sides), ring(low, 0.0, sides), ring(low - slope * half, half, sides),
        ring(rim, height + rise * rim * np.cos(turn), sides),
        ring(bore, height + rise * bore * np.cos(turn), sides),
    ])  # fmt: skip
