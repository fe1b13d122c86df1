"""Which abutment and crown have walls and gaps that elementary geometry gives?

Both are turned from profiles; corners lie on the true surfaces. The crown's outside may be
shifted across its axis: its wall is then thinnest on one side.
"""

from dataclasses import dataclass

import numpy as np

from casework.measure.surfaces.poses import Rigid


@dataclass(frozen=True)
class TurnedParts:
    """Dimensions in millimetres; the post tapers by `taper_deg` a side."""

    sides: int = 192
    crown_sides: int = 0  # 0 for as many, each facet then along one of the abutment
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
    ring_mm: float = 0.0  # rings of vertices at most so far apart; 0 for the profile's alone

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
        return turned(*divided(profile, self.ring_mm), self.sides)

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
        return turned(*divided(profile, self.ring_mm, shifts), self.crown_sides or self.sides)


def drawn_parts(seed, **fixed):
    """Return TurnedParts of a size that occurs, drawn from a seed, and a motion anywhere."""
    random = np.random.default_rng(seed)
    low = {
        "platform_radius": (1.7, 2.3), "margin_radius": (2.6, 3.8), "margin_height": (1.0, 3.0),
        "shoulder": (0.4, 0.9), "post_height": (4.0, 7.0), "taper_deg": (2.0, 7.0),
        "gap": (0.02, 0.1), "wall": (0.5, 1.2), "roof": (0.7, 2.0),
    }  # fmt: skip
    drawn = {name: float(random.uniform(*ends)) for name, ends in low.items()}
    drawn["sides"], drawn["crown_sides"] = (int(one) for one in random.integers(110, 220, 2))
    drawn["ring_mm"] = float(random.uniform(0.2, 0.4))
    drawn["bore_radius"] = 1.05 if drawn["margin_radius"] - drawn["shoulder"] > 2.2 else 0.0
    axis = random.normal(size=(3, 3))
    turn, upper = np.linalg.qr(axis)
    turn = turn * np.sign(np.diag(upper))
    turn[:, 0] *= np.sign(np.linalg.det(turn))
    rigid = Rigid(turn, random.uniform(-40, 40, 3))
    return TurnedParts(**(drawn | fixed)), rigid


def stored(vertices):
    """The vertices as a file of single precision keeps them."""
    return vertices.astype(np.float32).astype(float)


def divided(profile, ring_mm, shifts=None):
    """Return a profile and its shifts with points between, at most so far apart."""
    shifts = [0.0] * len(profile) if shifts is None else list(shifts)
    if not ring_mm:
        return profile, shifts
    points = np.column_stack([np.array(profile), shifts])
    lengths = np.linalg.norm(np.diff(points[:, :2], axis=0), axis=1)
    steps = np.maximum(np.ceil(lengths / ring_mm).astype(int), 1)
    at = np.concatenate([k + np.arange(n) / n for k, n in enumerate(steps)] + [[len(steps)]])
    columns = [np.interp(at, np.arange(len(points)), column) for column in points.T]
    return list(zip(columns[0], columns[1], strict=True)), columns[2]


def turned(profile, shifts, sides):
    """Turn a profile [(radius, z), …] about z, each ring shifted along x.

    It runs so that its left-hand side is inside: up along an outer wall, down along a bore. A
    closed profile (first = last) makes a ring, another one begins and ends on the axis.
    """
    angles = 2 * np.pi * np.arange(sides) / sides
    is_ring = profile[0] == profile[-1]
    rows, vertices, count = [], [], 0
    for k, (radius, z) in enumerate(profile[:-1] if is_ring else profile):
        shift = shifts[k]
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
