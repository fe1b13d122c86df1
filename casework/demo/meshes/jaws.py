"""Which implicit shape is one jaw of an invented patient, with or without scan bodies?"""

import numpy as np

from casework.demo.meshes.curve import LOWER, UPPER
from casework.demo.meshes.fields import soft_min
from casework.demo.meshes.gingiva import Gingiva
from casework.demo.meshes.scan_bodies import scan_body_field
from casework.demo.meshes.teeth import crown_field, dentition, prepared_field

CLEARANCE_MM = 0.05  # kept between the jaws when they bite
JOIN_MM = 0.12  # how softly a scanner bridges the line between neighbouring parts


class Jaw:
    """One jaw of an invented patient as an implicit shape."""

    def __init__(self, seed, jaw, missing=(), scan_bodies=None, implants=(), prepared=()):
        self.curve = LOWER if jaw == "lower" else UPPER
        self.coronal = 1.0 if jaw == "lower" else -1.0
        self.seed, self.jaw = seed, jaw
        self.teeth = dentition(seed, jaw)
        self.require([*missing, *(scan_bodies or {}), *implants, *prepared])
        self.gum = Gingiva(self.teeth, missing, implants, seed)
        self.standing = [tooth for site, tooth in self.teeth.items() if site not in missing]
        self.prepared = set(prepared)
        self.implants = {implant.site: implant for implant in self.gum.implants}
        self.scan_bodies = dict(scan_bodies or {})
        self.opponent = None  # teeth that this jaw must leave room for

    def require(self, sites):
        """Refuse sites that are not in this jaw."""
        for site in sites:
            if site not in self.teeth:
                raise ValueError(
                    f"Site {site} is not one of the fourteen teeth of the {self.jaw} jaw."
                )

    def layers(self, points, s, t):
        """Rough signed distances to teeth, tissue and scan bodies."""
        return self.crowns(points, s), self.gum.field(points, s, t), self.bodies(points)

    def crowns(self, points, s):
        """Rough signed distance to the teeth, cut back for the opponent where there is one."""
        teeth = np.full(len(points), 9.0)
        for tooth in self.standing:
            near = np.flatnonzero(np.abs(s - tooth.s) < tooth.reach)
            if not len(near):
                continue
            shape = prepared_field if tooth.site in self.prepared else crown_field
            teeth[near] = soft_min(teeth[near], shape(tooth, points[near]), JOIN_MM)
        if self.opponent is not None:
            self._make_room(teeth, points)
        return teeth

    def bodies(self, points):
        """Rough signed distance to the scan bodies."""
        bodies = np.full(len(points), 9.0)
        for site, form in self.scan_bodies.items():
            implant = self.implants[site]
            near = np.flatnonzero(
                np.abs(points - implant.platform).max(axis=1) < form.height_mm + 2.0
            )
            value = scan_body_field(form, implant.local(points[near]))
            bodies[near] = np.minimum(bodies[near], value)
        return bodies

    def _make_room(self, teeth, points):
        """Cut the teeth back where the opposing crowns would come too close."""
        near = np.flatnonzero(teeth < 1.0)
        other = self.opponent
        s, _ = other.curve.locate(points[near, :2])
        for tooth in other.standing:
            reached = np.abs(s - tooth.s) < tooth.reach
            at = near[reached]
            if len(at):
                teeth[at] = np.maximum(teeth[at], CLEARANCE_MM - crown_field(tooth, points[at]))

    def field(self, points, s, t):
        """Rough signed distance to everything the scanner sees."""
        teeth, gum, bodies = self.layers(points, s, t)
        return np.minimum(soft_min(teeth, gum, JOIN_MM), bodies)


def ends_of(missing):
    """Which of several missing neighbours carry implants: the first and the last."""
    missing = tuple(missing)
    return missing if len(missing) < 3 else (missing[0], missing[-1])


def lower_jaw(seed, missing=(), scan_bodies=None, implants=None, prepared=()):
    """The lower jaw; implants stand at the ends of the gap unless named."""
    sites = ends_of(missing) if implants is None else tuple(implants)
    return Jaw(seed, "lower", missing, scan_bodies, sites, prepared)


def upper_jaw(seed, missing=(), scan_bodies=None, implants=None, prepared=()):
    """The upper jaw, cut back to leave room for the complete lower teeth of the patient."""
    sites = ends_of(missing) if implants is None else tuple(implants)
    jaw = Jaw(seed, "upper", missing, scan_bodies, sites, prepared)
    jaw.opponent = Jaw(seed, "lower")
    return jaw
