"""Which bodies have a screw channel whose wall, seat and exit elementary geometry gives?"""

import numpy as np

from casework.measure.channels import Part
from casework.measure.surfaces.poses import Pose
from tests.shapes import rotation, turned_profile

SIDES = 256
FLAT = np.cos(np.pi / SIDES)  # a facet's middle lies so much nearer than its edges


def abutment(bore=1.05, seat=1.0, shaft=0.75, top=7.0, shift=0.0, sides=SIDES):
    """A stepped bore in a post; its outside may be shifted toward x.

    The wall around the bore is 1.2 mm less what the shift takes off, along z from 3 to `top`.
    """
    post = bore + 1.2
    profile = [
        (shaft, -1.0), (1.2, -1.0), (1.2, 0.0), (2.0, 0.0), (3.2, 2.4), (post, 3.0),
        (post, top), (bore, top), (bore, seat), (shaft, seat), (shaft, -1.0),
    ]  # fmt: skip
    vertices, faces = turned_profile(profile, sides)
    outside = np.hypot(vertices[:, 0], vertices[:, 1]) > max(bore, 1.2) + 1e-9
    vertices[outside, 0] += shift
    return vertices, faces


def cone_with_slanted_top(low, slope, height, bore, tilt_deg, sides=SIDES):
    """A frustum of radius `low` - `slope` z with a bore; its top is a plane.

    The top passes through (0, 0, height) and rises toward x. The mantle is divided at half its
    height.
    """
    turn = 2 * np.pi * np.arange(sides) / sides
    rise = np.tan(np.radians(tilt_deg))
    rim = (low - slope * height) / (1 + slope * rise * np.cos(turn))

    def ring(radius, z):
        return np.column_stack([radius * np.cos(turn), radius * np.sin(turn), z + 0 * turn])

    top_outside = ring(rim, height + rise * rim * np.cos(turn))
    rings = [
        ring(bore, 0.0), ring(low, 0.0), ring(low - slope * height / 2, height / 2),
        top_outside, ring(bore, height + rise * bore * np.cos(turn)),
    ]  # fmt: skip
    k, after = np.arange(sides), (np.arange(sides) + 1) % sides
    faces = []
    for one in range(5):
        a, b = one * sides, (one + 1) % 5 * sides
        faces += [np.column_stack([a + k, a + after, b + after])]
        faces += [np.column_stack([a + k, b + after, b + k])]
    return np.vstack(rings), np.vstack(faces).astype(np.int32)


def placed(body, seed=1, name="part.stl"):
    """The body as a part anywhere in space, and the pose of the implant under it."""
    turn, at = rotation(seed), np.array([30.0, -20.0, 10.0]) * seed
    vertices, faces = body
    pose = Pose.of(at, turn @ [0.0, 0.0, 1.0], turn @ [1.0, 0.0, 0.0])
    return Part(name, vertices @ turn.T + at, faces), pose
