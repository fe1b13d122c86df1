"""Which abutment and crown have walls and gaps that elementary geometry gives?

Both are turned from profiles, so that each facet of one runs along a facet of the other. The
crown's outside may be shifted across its axis: its wall is then thinnest on one side.
"""

from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True)
class TurnedParts:
    """Dimensions in millimetres; the post tapers by `taper_deg` a side."""

    sides: int = 192
    platform_radius: float = 2.0
    margin_radius: float = 3.0
    margin_height: float = 2.0
    shoulder: float = 0.6
    chamfer: float = 0.0  # how much higher the foot of the wall is than the margin
    post_height: float = 6.0
    taper_deg: float = 4.0
    bore_radius: float = 1.05  # 0 for none
    gap: float = 0.05  # between post and crown, along the normals
    wall: float = 0.7  # along the normals of the outer wall, before the shift
    roof: float = 1.5
    shift: float = 0.0  # of the crown's outside, toward x
    seat_shift: float = 0.0  # of the crown's cavity, toward x

    @property
    def slope(self):
        return np.tan(np.radians(self.taper_deg))

    @property
    def cosine(self):
        return np.cos(np.radians(self.taper_deg))

    @property
    def foot(self):
        """Radius and height of the foot of the post's wall."""
        return self.margin_radius - self.shoulder, self.margin_height + self.chamfer

    @property
    def top(self):
        radius, height = self.foot
        return radius - self.slope * self.post_height, height + self.post_height

    @property
    def least_wall_mm(self):
        """Between the outer wall and that of the cavity, shifted against each other."""
        return self.wall - abs(self.shift - self.seat_shift) * self.cosine

    def gap_quantile_mm(self, share):
        """Of the gap over the post's wall: it goes with the cosine of the turn."""
        away = np.cos(np.pi * (1 - share))
        return self.gap + abs(self.seat_shift) * self.cosine * away

    def abutment(self):
        """Vertices and faces of the abutment; its axis is z, the platform at 0."""
        profile = [(self.platform_radius, 0.0), (self.margin_radius, self.margin_height)]
        profile += [self.foot, self.top]
        if self.bore_radius:
            profile += [(self.bore_radius, self.top[1]), (self.bore_radius, 1.0)]
            profile += [(0.7, 1.0), (0.7, 0.0), profile[0]]
        else:
            profile = [(0.0, 0.0), *profile, (0.0, self.top[1])]
        return turned(profile, self.sides)

    def crown(self):
        """Vertices and faces of a crown over it, without a channel."""
        (foot, low), (top, high) = self.foot, self.top
        offset = self.gap / self.cosine
        roof = high + self.gap
        start = low + self.gap
        cavity = [
            (top + offset - self.slope * self.gap, roof),
            (foot + offset - self.slope * self.gap, start),
        ]
        wide = (self.gap + self.wall) / self.cosine
        end = roof + self.roof
        outside = [
            (foot + wide - self.slope * self.gap, start),
            (foot + wide - self.slope * (end - low), end),
        ]
        profile = [(0.0, roof), *cavity, *outside, (0.0, end)]
        shifts = [self.seat_shift] * 3 + [self.shift] * 3
        return turned(profile, self.sides, shifts)


def turned(profile, sides, shifts=None):
    """Turn a profile [(radius, z), …] about z, each ring shifted along x.

    It runs so that its left-hand side is inside: up along an outer wall, down along a bore. A
    closed profile (first = last) makes a ring, another one begins and ends on the axis.
    """
    angles = 2 * np.pi * np.arange(sides) / sides
    is_ring = profile[0] == profile[-1]
    rows, vertices, count = [], [], 0
    for k, (radius, z) in enumerate(profile[:-1] if is_ring else profile):
        shift = 0.0 if shifts is None else shifts[k]
        size = sides if radius > 0 else 1
        row = np.column_stack([
            radius * np.cos(angles[:size]) + shift,
            radius * np.sin(angles[:size]),
            np.full(size, z),
        ])  # fmt: skip
        vertices.append(row)
        rows.append(np.resize(np.arange(count, count + size), sides))
        count += size
    if is_ring:
        rows.append(rows[0])
    faces = []
    for low, high in zip(rows, rows[1:], strict=False):
        near, far = np.roll(low, -1), np.roll(high, -1)
        faces += [np.column_stack([low, near, far]), np.column_stack([low, far, high])]
    faces = np.concatenate(faces)
    is_whole = (
        (faces[:, 0] != faces[:, 1])
        & (faces[:, 1] != faces[:, 2])
        & (faces[:, 2] != faces[:, 0])
    )
    return np.concatenate(vertices), faces[is_whole].astype(np.int32)
