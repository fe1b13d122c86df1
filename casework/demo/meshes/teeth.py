"""What does the crown of each tooth look like, and where in its arch does it stand?"""

from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np
from scipy.interpolate import PchipInterpolator

from casework.demo.meshes.curve import LOWER, UPPER
from casework.demo.meshes.fields import soft_max

OCCLUSAL_MM = 8.0  # height of the lower occlusal plane above the common origin
BLEND_MM = 0.9

# From memory: average crown sizes as printed in standard dental-anatomy textbooks, for
# synthetic shapes only. Width mesial to distal, the same at the neck, depth cheek to tongue,
# the same at the neck, height; mm.
CROWN_SIZES = {
    ("upper", 1): (8.5, 7.0, 7.0, 6.0, 10.5),
    ("upper", 2): (6.5, 5.0, 6.0, 5.0, 9.0),
    ("upper", 3): (7.5, 5.5, 8.0, 7.0, 10.0),
    ("upper", 4): (7.0, 5.0, 9.0, 8.0, 8.5),
    ("upper", 5): (7.0, 5.0, 9.0, 8.0, 8.5),
    ("upper", 6): (10.0, 8.0, 11.0, 10.0, 7.5),
    ("upper", 7): (9.0, 7.0, 11.0, 10.0, 7.0),
    ("lower", 1): (5.0, 3.5, 6.0, 5.3, 9.0),
    ("lower", 2): (5.5, 4.0, 6.5, 5.8, 9.5),
    ("lower", 3): (7.0, 5.5, 7.5, 7.0, 11.0),
    ("lower", 4): (7.0, 5.0, 7.5, 6.5, 8.5),
    ("lower", 5): (7.0, 5.0, 8.0, 7.0, 8.0),
    ("lower", 6): (11.0, 9.0, 10.5, 9.0, 7.5),
    ("lower", 7): (10.5, 8.0, 10.0, 8.0, 7.0),
}
# Cusps as shares of half the width (distal positive), half the depth (cheek positive), and the
# drop below the highest in mm; invented after the usual pattern of fissures.
CUSPS = {
    ("upper", 4): ((0, 0.48, 0), (-0.1, -0.48, 0.7)),
    ("upper", 5): ((0, 0.48, 0.1), (-0.1, -0.48, 0.4)),
    ("upper", 6): ((-0.45, 0.5, 0), (0.45, 0.5, 0.3), (-0.35, -0.45, 0), (0.5, -0.5, 0.7)),
    ("upper", 7): ((-0.45, 0.5, 0), (0.45, 0.5, 0.4), (-0.3, -0.45, 0.1), (0.5, -0.5, 1.0)),
    ("lower", 4): ((0, 0.38, 0), (-0.15, -0.55, 1.6)),
    ("lower", 5): ((0, 0.45, 0), (-0.4, -0.5, 0.7), (0.45, -0.5, 0.9)),
    ("lower", 6): (
        (-0.55, 0.52, 0), (0.05, 0.56, 0.2), (0.6, 0.42, 0.6),
        (-0.45, -0.5, 0.1), (0.4, -0.5, 0.3),
    ),
    ("lower", 7): ((-0.45, 0.5, 0), (0.45, 0.5, 0.3), (-0.45, -0.5, 0.2), (0.45, -0.5, 0.4)),
}  # fmt: skip
# Lean of the crown toward cheek (+) or tongue (-), degrees, by place in the arch.
LEAN_DEG = {
    "upper": (0, 16, 14, 8, 2, 1, 2, 5),
    "lower": (0, 10, 9, 3, -5, -8, -11, -13),
}


@dataclass(frozen=True)
class Tooth:
    """A crown standing in an arch; lengths in millimetres."""

    site: str
    jaw: str
    place: int  # 1 next to the midline, 7 the second molar
    s: float
    t: float
    neck_z: float
    turn: float  # radians about its own axis
    width: float
    neck_width: float
    depth: float
    neck_depth: float
    height: float

    @property
    def distal(self):
        """+1 where distal is the direction of growing s."""
        return 1.0 if self.site[0] in "14" else -1.0

    @property
    def coronal(self):
        """+1 where the crown points up."""
        return 1.0 if self.jaw == "lower" else -1.0

    @property
    def reach(self):
        """How far along the arch the crown is felt."""
        return self.width / 2 + 1.5

    @cached_property
    def frame(self):
        """Middle of the neck, direction of growing s, and toward the cheek; in the plane."""
        curve, s = LOWER if self.jaw == "lower" else UPPER, np.array(self.s)
        return curve.place(s, np.array(self.t)), curve.tangent(s), curve.outward(s)

    def local(self, points):
        """Distal, cheekward and coronal coordinates from the middle of the neck."""
        foot, tangent, outward = self.frame
        x, y = points[:, 0] - foot[0], points[:, 1] - foot[1]
        along, across = x * tangent[0] + y * tangent[1], x * outward[0] + y * outward[1]
        cos, sin = np.cos(self.turn), np.sin(self.turn)
        u = (cos * along + sin * across) * self.distal
        v = cos * across - sin * along
        w = (points[:, 2] - self.neck_z) * self.coronal
        return u, v - self.middle(w), w

    def middle(self, w):
        """How far toward the cheek the leaning crown's middle lies at a height."""
        return np.tan(np.radians(LEAN_DEG[self.jaw][self.place])) * (w - 0.3 * self.height)

    def point(self, u, v, w):
        """Common coordinates of a local point that lies on the unleaned axes."""
        foot, tangent, outward = self.frame
        flat = foot + u * self.distal * tangent + v * outward
        return np.array([*flat, self.neck_z + w * self.coronal])

    def direction(self, u, v, w):
        """Common unit vector of a local direction (distal, cheekward, coronal)."""
        start, end = self.point(0, 0, 0), self.point(u, v, w)
        return (end - start) / np.linalg.norm(end - start)


@lru_cache(maxsize=64)
def _outline(place, width, neck_width, depth, neck_depth, height):
    """Half width, tongue side and cheek side of the crown at 60 heights."""
    levels = np.linspace(-4.0, height + 1.0, 60)
    h = height
    half = PchipInterpolator(
        [-4.0, 0.0, 0.30 * h, 0.66 * h, 0.90 * h, h + 1.0],
        np.array([0.80, 1.0, 0, 0, 0, 0]) * neck_width / 2
        + np.array([0, 0, 0.93, 1.0, 0.98, 0.94]) * width / 2,
    )(levels)
    if place <= 3:
        thick = 0.30 if place < 3 else 0.42
        cheek = PchipInterpolator(
            [-4.0, 0.0, 0.22 * h, 0.6 * h, h + 1.0],
            [0.42 * neck_depth, 0.5 * neck_depth, 0.52 * depth, 0.42 * depth, 0.18 * depth],
        )(levels)
        tongue = PchipInterpolator(
            [-4.0, 0.0, 0.22 * h, 0.5 * h, 0.8 * h, h + 1.0],
            [-0.4 * neck_depth, -0.5 * neck_depth, -0.47 * depth, -0.20 * depth,
             (0.30 - thick) * depth, (0.18 - 0.62 * thick) * depth],
        )(levels)  # fmt: skip
    else:
        knots = [-4.0, 0.0, 0.33 * h, 0.62 * h, h + 1.0]
        cheek = PchipInterpolator(
            knots,
            [0.40 * neck_depth, 0.5 * neck_depth, 0.5 * depth, 0.46 * depth, 0.28 * depth],
        )(levels)
        tongue = -PchipInterpolator(
            knots,
            [0.40 * neck_depth, 0.5 * neck_depth, 0.49 * depth, 0.49 * depth, 0.34 * depth],
        )(levels)
    return levels, half, tongue, cheek


def _chewing_height(tooth, u, v):
    """Height of cusps, ridges and fissures above the neck."""
    if tooth.place <= 2:
        worn = 0.12 * np.minimum(np.abs(u) / (tooth.width / 2), 1.4) ** 4 * tooth.width / 6
        return tooth.height - worn - 0.06 * np.maximum(u, 0.0)
    if tooth.place == 3:
        return tooth.height - 0.52 * (np.sqrt((u + 0.3) ** 2 + 0.36) - 0.6)
    half_u, half_v = tooth.width / 2, tooth.depth / 2
    top = None
    for at_u, at_v, drop in CUSPS[tooth.jaw, tooth.place]:
        away = np.sqrt((u - at_u * half_u) ** 2 + (v - at_v * half_v) ** 2 + 0.36)
        cusp = tooth.height - drop - 0.62 * (away - 0.6)
        top = cusp if top is None else soft_max(top, cusp, 0.18)
    for at_u in (-0.82, 0.82):  # the marginal ridges
        away = np.sqrt((u - at_u * half_u) ** 2 + (0.35 * v) ** 2 + 0.2)
        top = soft_max(top, tooth.height - 1.35 - 0.8 * (away - 0.45), 0.25)
    return np.maximum(top, tooth.height - 2.6)


def crown_field(tooth, points):
    """Rough signed distance to the natural crown."""
    u, v, w = tooth.local(points)
    levels, half, tongue, cheek = _outline(
        tooth.place, tooth.width, tooth.neck_width, tooth.depth, tooth.neck_depth, tooth.height
    )
    half = np.interp(w, levels, half)
    low, high = np.interp(w, levels, tongue), np.interp(w, levels, cheek)
    span = (high - low) / 2
    ue, ve = u / half, (v - (high + low) / 2) / span
    ue, ve = ue * ue, ve * ve
    square = 0.55 if tooth.place >= 6 else 0.35
    ring = (1 - square) * np.sqrt(ue + ve) + square * np.sqrt(np.sqrt(ue * ue + ve * ve))
    side = (ring - 1.0) * np.minimum(half, span)
    top = (w - _chewing_height(tooth, u, v)) * 0.82
    return soft_max(side, top, BLEND_MM if tooth.place > 2 else 0.7)


def prepared_field(tooth, points):
    """Rough signed distance to the tooth ground for a crown: a stump with a shoulder."""
    u, v, w = tooth.local(points)
    taper = 0.10 * np.maximum(w - 0.6, 0.0)
    above = np.clip((w - 0.5) / 0.3, 0.0, 1.0)
    half = tooth.neck_width / 2 - 0.9 * above - taper
    span = tooth.neck_depth / 2 - 0.9 * above - taper
    half, span = np.maximum(half, 0.6), np.maximum(span, 0.6)
    side = (np.sqrt((u / half) ** 2 + (v / span) ** 2) - 1.0) * np.minimum(half, span)
    return soft_max(side, w - (tooth.height - 2.2), 0.8)


@lru_cache(maxsize=16)
def dentition(seed, jaw):
    """The fourteen teeth of one jaw of one invented patient, by site."""
    random = np.random.default_rng([seed, 1 if jaw == "lower" else 2])
    share = random.normal(1.0, 0.015)
    teeth = {}
    for quadrant in ("4", "3") if jaw == "lower" else ("1", "2"):
        sign = 1.0 if quadrant in "14" else -1.0
        reached = 0.0
        for place in range(1, 8):
            sizes = np.array(CROWN_SIZES[jaw, place]) * share
            sizes *= 1.0 + 0.012 * np.clip(random.normal(size=5), -2, 2)
            width, neck_width, depth, neck_depth, height = (float(one) for one in sizes)
            spoon = -0.02 * (place - 4) ** 2 + (0.9 if place == 3 else 0.0)
            if jaw == "lower":
                neck = OCCLUSAL_MM + spoon - height
            else:
                overlap = 2.2 if place <= 2 else 2.0 if place == 3 else 1.35
                neck = OCCLUSAL_MM - overlap - spoon * 0.3 + height
            teeth[f"{quadrant}{place}"] = Tooth(
                site=f"{quadrant}{place}",
                jaw=jaw,
                place=place,
                s=sign * (reached + width / 2),
                t=float(random.normal(0.0, 0.12)),
                neck_z=neck + float(np.clip(random.normal(0.0, 0.08), -0.15, 0.15)),
                turn=float(random.normal(0.0, np.radians(1.6))),
                width=width * (1.055 if place <= 3 else 1.012),  # so that neighbours touch
                neck_width=neck_width,
                depth=depth,
                neck_depth=neck_depth,
                height=height,
            )
            reached += width
    return teeth
