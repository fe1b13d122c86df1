"""Where does the soft tissue run around teeth, over a gap and into an implant's funnel?"""

import numpy as np
from scipy.interpolate import PchipInterpolator

from casework.demo.meshes.fields import soft_max
from casework.demo.meshes.scan_bodies import funnel_field, implant_at

STEEPNESS = 2.3  # fall of the gum's sides, mm per mm


class Gingiva:
    """The tissue of one jaw: a crest line with papillae and ridges, and sides that fall away.

    Heights are coronal: z for the lower jaw, -z for the upper.
    """

    def __init__(self, teeth, missing, implant_sites, seed):
        self.coronal = next(iter(teeth.values())).coronal
        self._lay_out(sorted(teeth.values(), key=lambda tooth: tooth.s), set(missing))
        self.implants = [
            implant_at(teeth[site], float(self.crest(teeth[site].s)), seed)
            for site in implant_sites
        ]
        random = np.random.default_rng([seed, 3])
        self._waves = [
            (random.uniform(0.02, 0.05), *random.uniform(0.5, 1.6, 3), random.uniform(0, 6.3))
            for _ in range(6)
        ]

    def _lay_out(self, teeth, missing):
        """Tables along the arch: crest height, half width, roundness, middle."""
        rows = []
        for tooth, after in zip(teeth, [*teeth[1:], None], strict=True):
            gone = tooth.site in missing
            neck = tooth.neck_z * tooth.coronal
            middle = tooth.t + tooth.middle(0.0)
            if gone:
                rows.append((tooth.s, neck - 0.7, 1.7, 3.6, middle))
            else:
                rows.append((tooth.s, neck + 0.45, tooth.neck_depth / 2 + 0.3, 0.5, middle))
            if after is None:
                continue
            between = (tooth.s + tooth.width / 2 + after.s - after.width / 2) / 2
            necks = (neck + after.neck_z * after.coronal) / 2
            gaps = gone + (after.site in missing)
            rise = (0.42 * min(tooth.height, after.height), 0.6, -0.7)[gaps]
            half = (0.33 * min(tooth.depth, after.depth), 2.2, 1.6)[gaps]
            rows.append((between, necks + rise, half, (0.9, 1.8, 3.6)[gaps], middle))
        first, last = teeth[0], teeth[-1]
        for tooth, way in ((first, -1), (last, 1)):
            end, neck = tooth.s + way * tooth.width / 2, tooth.neck_z * tooth.coronal
            gone = tooth.site in missing
            rows.append((end + way * 0.6, neck + (-0.6 if gone else 1.0), 2.8, 1.5, tooth.t))
            rows.append((end + way * 3.0, neck - 0.4, 2.4, 2.2, tooth.t))
            rows.append((end + way * 7.0, neck - 12.0, 0.6, 2.2, tooth.t))
        rows = np.array(sorted(rows))
        self.crest, self._half, self._round, self._middle = (
            PchipInterpolator(rows[:, 0], rows[:, column], extrapolate=False)
            for column in range(1, 5)
        )
        self.ends = rows[0, 0] + 0.2, rows[-1, 0] - 0.2

    def field(self, points, s, t):
        """Rough signed distance to the tissue; `s`, `t` are the points' arch coordinates."""
        s = np.clip(s, *self.ends)
        up = points[:, 2] * self.coronal
        soft = self._round(s)
        beside = np.maximum(np.abs(t - self._middle(s)) - self._half(s), 0.0)
        slant = np.sqrt(beside**2 + soft**2)
        top = self.crest(s) - STEEPNESS * (slant - soft)
        for height, a, b, c, phase in self._waves:
            top = top + height * np.sin(a * points[:, 0] + b * points[:, 1] + c * up + phase)
        slope = STEEPNESS * beside / slant
        value = 0.88 * (up - top) / np.sqrt(1.0 + slope**2)
        for implant in self.implants:
            near = np.flatnonzero(np.abs(points - implant.platform).max(axis=1) < 6.5)
            funnel = funnel_field(implant, implant.local(points[near]))
            value[near] = soft_max(value[near], -funnel, 0.35)
        return value
