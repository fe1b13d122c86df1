"""Which closed solids would a technician design: abutments, a bridge, a screwed crown?"""

from dataclasses import dataclass

import numpy as np

from casework.demo.meshes.fields import (
    frame_of,
    segment_distance,
    settle,
    soft_max,
    soft_min,
    unit,
)
from casework.demo.meshes.jaws import CLEARANCE_MM, lower_jaw, upper_jaw
from casework.demo.meshes.surface import main_pieces, surface_nets, triangles_of
from casework.demo.meshes.teeth import crown_field

MARGIN_UNDER_CREST_MM = 0.5
SHOULDER_MM = 0.55
TAPER = 0.04  # of the post, per side
WIDEST_POST_MM = 3.0  # half
POST_EDGE_MM = 0.3  # width over which the edge of its top is rounded
CEMENT_GAP_MM = 0.05
CONTACT_GAP_MM = 0.01  # left to the neighbours
CONNECTION_RADIUS_MM = 1.2
CONNECTION_LENGTH_MM = 0.85
SHAFT_RADIUS_MM = 0.75
HEAD_RADIUS_MM = 1.05
SEAT_MM = 1.0  # height of the screw seat above the platform
ACCESS_RADIUS_MM = 1.3  # of the channel through a crown
CONNECTOR_RADIUS_MM = 1.95
EDGE_MM = 0.35  # width over which edges are rounded
CROWN_ROOF_MM = 4.2  # from the cusp tips down to the top of the post


@dataclass(eq=False)
class DesignMesh:
    """A closed part in the frame of the scans, with the truth it was made from."""

    vertices: np.ndarray
    faces: np.ndarray
    implants: dict  # Implant by site


@dataclass(eq=False)
class _Unit:
    """One tooth to be replaced: its natural form and, if it has one, its implant."""

    tooth: object
    implant: object
    path: object  # unit vector: the way in which a restoration slides on all abutments alike

    @property
    def margin(self):
        """Height of the margin above the platform."""
        return self.implant.depth_mm - MARGIN_UNDER_CREST_MM

    @property
    def post_top(self):
        """Height of the post's top above the platform."""
        tip = self.tooth.point(0, 0, self.tooth.height)
        return float((tip - self.implant.platform) @ self.implant.axis) - CROWN_ROOF_MM

    def ellipse(self, local, half_cheek, half_along):
        """Rough distance to an upright elliptical cylinder."""
        ring = np.hypot(local[:, 0] / half_cheek, local[:, 1] / half_along)
        return (ring - 1.0) * np.minimum(half_cheek, half_along)

    def emergence(self, local, top):
        """The part from the platform to the margin, flaring to the neck of the tooth."""
        share = np.clip(local[:, 2] / self.margin, 0.0, 1.0)
        base = self.implant.platform_diameter_mm / 2 - 0.05
        cheek = base + share * (max(self.tooth.neck_depth / 2 - 0.3, base) - base)
        along = base + share * (max(self.tooth.neck_width / 2 - 0.2, base) - base)
        side = 0.9 * self.ellipse(local, cheek, along)
        body = soft_max(soft_max(side, -local[:, 2], EDGE_MM), local[:, 2] - top, EDGE_MM)
        stem = np.hypot(local[:, 0], local[:, 1]) - CONNECTION_RADIUS_MM
        ends = np.maximum(-CONNECTION_LENGTH_MM - local[:, 2], local[:, 2] - 1.0)
        stem = np.maximum(stem, ends)
        return soft_min(body, stem, EDGE_MM)

    def post(self, points):
        """The tapered post along the path, from its shoulder on, without its channel."""
        foot = self.implant.platform + self.margin * self.implant.axis
        local = (points - foot) @ frame_of(self.path, self.implant.flat).T + [0, 0, self.margin]
        base = self.implant.platform_diameter_mm / 2 - 0.05
        over = np.maximum(local[:, 2] - self.margin, 0.0)
        cheek = max(self.tooth.neck_depth / 2 - 0.3, base) - SHOULDER_MM
        along = max(self.tooth.neck_width / 2 - 0.2, base) - SHOULDER_MM
        cheek, along = (min(half, WIDEST_POST_MM) - TAPER * over for half in (cheek, along))
        side = self.ellipse(local, cheek, along)
        solid = soft_max(side, local[:, 2] - self.post_top, POST_EDGE_MM)
        return np.maximum(solid, self.margin - 0.4 - local[:, 2])

    def channel(self, local, upper_radius):
        """The screw's way: a shaft, and above the seat room for head and driver."""
        round_about = np.hypot(local[:, 0], local[:, 1])
        head = np.maximum(round_about - upper_radius, SEAT_MM - local[:, 2])
        return np.minimum(round_about - SHAFT_RADIUS_MM, head)


def _case(seed, sites, missing):
    """The jaw with its gap, the opposing jaw, and the units asked for."""
    lower = sites[0][0] in "34"
    missing = tuple(sites) if missing is None else tuple(missing)
    jaw = (lower_jaw if lower else upper_jaw)(seed, missing)
    opposing = upper_jaw(seed) if lower else lower_jaw(seed)
    jaw.require(sites)
    axes = [implant.axis for implant in jaw.implants.values()]
    path = unit(np.sum(axes, axis=0)) if axes else None
    units = [_Unit(jaw.teeth[site], jaw.implants.get(site), path) for site in sites]
    return jaw, opposing, units


def _solid(shape, low, high, step_mm, along=(1.0, 0.0, 0.0)):
    """Mesh a field inside a box whose first axis points `along` (in the plane)."""
    first = unit([along[0], along[1], 0.0])
    turn = np.array([first, [-first[1], first[0], 0.0], [0.0, 0.0, 1.0]])
    axes = [np.arange(a, b, step_mm) for a, b in zip(low, high, strict=True)]
    grid = np.stack(np.meshgrid(*axes, indexing="ij"), axis=-1)
    values = shape(grid.reshape(-1, 3) @ turn).reshape(grid.shape[:3])
    places, quads = surface_nets(values)
    points = (np.array([axis[0] for axis in axes]) + places * step_mm) @ turn
    points = settle(points, shape, 0.3 * step_mm)
    points, faces, _ = main_pieces(points, triangles_of(points, quads))
    return points, faces


def custom_abutment(site, seed, missing=None, *, step_mm=0.16):
    """A one-piece abutment with shoulder, post and screw channel; closed, one hole through."""
    jaw, _, (one,) = _case(seed, (site,), missing)
    if one.implant is None:
        raise ValueError(f"No implant stands at {site}; an abutment needs one.")

    def shape(points):
        local = one.implant.local(points)
        solid = soft_min(one.emergence(local, one.margin), one.post(points), EDGE_MM)
        return soft_max(solid, -one.channel(local, HEAD_RADIUS_MM), EDGE_MM)

    middle = one.implant.platform + one.implant.axis * one.post_top / 2
    size = np.array([7.0, 7.0, one.post_top / 2 + 3.0])
    points, faces = _solid(shape, middle - size, middle + size, step_mm)
    return DesignMesh(points, faces, {site: one.implant})


def _keep_clear(value, points, jaw, opposing, units):
    """Cut a field back from the neighbours and from the opposing teeth."""
    near = np.flatnonzero(value < 0.8)
    own = {one.tooth.site for one in units}
    for tooth in jaw.standing:
        if tooth.site in own or min(abs(tooth.s - one.tooth.s) for one in units) > 14.0:
            continue
        gap = CONTACT_GAP_MM - crown_field(tooth, points[near])
        value[near] = np.maximum(value[near], gap)
    teeth = opposing.crowns(points[near], opposing.curve.locate(points[near, :2])[0])
    value[near] = np.maximum(value[near], CLEARANCE_MM - teeth)
    return value


def crown(site, seed, missing=None, *, step_mm=0.2):
    """A screw-retained crown in one piece from the platform up; closed, one hole through."""
    jaw, opposing, units = _case(seed, (site,), missing)
    (one,) = units
    if one.implant is None:
        raise ValueError(f"No implant stands at {site}; a screw-retained crown needs one.")

    def shape(points):
        local = one.implant.local(points)
        natural = soft_max(crown_field(one.tooth, points), one.margin - 0.2 - local[:, 2], 0.3)
        value = soft_min(natural, one.emergence(local, one.margin + 0.6), 0.5)
        value = _keep_clear(value, points, jaw, opposing, units)
        return soft_max(value, -one.channel(local, ACCESS_RADIUS_MM), EDGE_MM)

    ends = np.stack([
        one.implant.platform - one.implant.axis * (CONNECTION_LENGTH_MM + 1.0),
        one.tooth.point(0, 0, one.tooth.height + 1.5),
    ])  # fmt: skip
    reach = np.array([8.0, 8.0, 0.5])
    points, faces = _solid(shape, ends.min(axis=0) - reach, ends.max(axis=0) + reach, step_mm)
    return DesignMesh(points, faces, {site: one.implant})


def _connectors(units, points):
    """Rough distance to the short bars that join neighbouring units."""
    value = np.full(len(points), 9.0)
    for one, two in zip(units, units[1:], strict=False):
        ends = [unit_.tooth.point(0, 0, 0.48 * unit_.tooth.height) for unit_ in (one, two)]
        share = one.tooth.width / (one.tooth.width + two.tooth.width)
        joint = ends[0] + share * (ends[1] - ends[0])
        along = unit(ends[1] - ends[0]) * 1.6
        away = segment_distance(points, joint - along, joint + along)
        value = np.minimum(value, away - CONNECTOR_RADIUS_MM)
    return value


def bridge(sites=("45", "46", "47"), seed=1, missing=None, *, step_mm=0.25):
    """Retainers over abutments at implants, pontics between; closed, a hole per implant."""
    jaw, opposing, units = _case(seed, tuple(sites), missing)
    held = [one for one in units if one.implant is not None]

    def shape(points):
        value = np.full(len(points), 9.0)
        for one in units:
            if one.implant is None:  # a pontic with a rounded base above the ridge
                _, _, w = one.tooth.local(points)
                body = soft_max(crown_field(one.tooth, points), 0.2 - w, 2.0)
            else:
                above = one.margin + CEMENT_GAP_MM - one.implant.local(points)[:, 2]
                body = soft_max(crown_field(one.tooth, points), above, 0.2)
            value = soft_min(value, body, 0.35)
        value = soft_min(value, _connectors(units, points), 0.5)
        value = _keep_clear(value, points, jaw, opposing, units)
        for one in held:
            local = one.implant.local(points)
            value = soft_max(value, CEMENT_GAP_MM - one.post(points), 0.2)
            access = np.hypot(local[:, 0], local[:, 1]) - ACCESS_RADIUS_MM
            inside = np.maximum(access, one.margin - 1.0 - local[:, 2])
            value = soft_max(value, -inside, EDGE_MM)
        return value

    feet = np.stack([one.tooth.point(0, 0, -2.0) for one in units])
    tips = np.stack([one.tooth.point(0, 0, one.tooth.height + 1.5) for one in units])
    along = unit((feet[-1] - feet[0]) * [1, 1, 0])
    turn = np.array([along, [-along[1], along[0], 0.0], [0.0, 0.0, 1.0]])
    spread = np.concatenate([feet, tips]) @ turn.T
    reach = np.array([units[0].tooth.width, 8.0, 0.0])
    points, faces = _solid(
        shape, spread.min(axis=0) - reach, spread.max(axis=0) + reach, step_mm, along
    )
    return DesignMesh(points, faces, {one.tooth.site: one.implant for one in held})
