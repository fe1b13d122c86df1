"""Which closed solids would a technician design: abutments, a bridge, a screwed crown?"""

from dataclasses import dataclass, replace

import numpy as np

from casework.demo.meshes.fields import (
    frame_of,
    is_folded,
    onto_edges,
    segment_distance,
    settle,
    soft_max,
    soft_min,
    unit,
)
from casework.demo.meshes.jaws import lower_jaw, upper_jaw
from casework.demo.meshes.surface import main_pieces, surface_nets, triangles_of
from casework.demo.meshes.teeth import crown_field

MARGIN_UNDER_CREST_MM = 0.3
SHOULDER_MM, WIDEST_SHOULDER_MM = 0.55, 1.0
TAPER = 0.05  # of the post, per side
WIDE_POST_MM = 2.4  # half; a wider one only where its shoulder would be too wide
HIGHEST_POST_MM = 4.3  # above the margin
POST_EDGE_MM = 0.2  # width over which the edges of its top are rounded
SLEEVE_MM, SLEEVE_HEIGHT_MM = (
    0.9,
    2.9,
)  # wall of a restoration around its channel; over the post
COLLAR_MM = 1.6  # above the margin a restoration is no narrower than its abutment
COLLAR_SLOPE, FLARE_SLOPE = 0.15, 0.5  # of its outside there, at least and at most
CEMENT_GAP_MM, MARGIN_GAP_MM = 0.05, 0.02
CEMENT_FROM_MM = 1.0  # above the margin its gap is whole
CONTACT_GAP_MM, OPPOSING_GAP_MM = 0.01, 0.08  # left to the neighbours, to the opposing teeth
DRAWN_OUT_MM = 0.7  # wider than the natural tooth before a crown is cut back to its neighbours
CONNECTION_RADIUS_MM = 1.2
CONNECTION_LENGTH_MM = 0.85
SHAFT_RADIUS_MM = 0.75
HEAD_RADIUS_MM = 1.06
SEAT_MM = 1.0  # height of the screw seat above the platform
ACCESS_RADIUS_MM = 1.2  # of the channel through a crown
CONNECTOR_RADIUS_MM = 1.95
EDGE_MM = 0.35  # width over which edges are rounded
SHARP_MM = 0.01  # the same of a margin
UNFOLDINGS = 5  # rounds in which corners of folded faces go back to where they were
CROWN_ROOF_MM = 3.55  # from the cusp tips down to the top of the post


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
        room = float((tip - self.implant.platform) @ self.implant.axis) - CROWN_ROOF_MM
        return min(room, self.margin + HIGHEST_POST_MM)

    @property
    def base(self):
        """Half the width of the abutment on the platform."""
        return self.implant.platform_diameter_mm / 2 - 0.05

    @property
    def margin_halves(self):
        """Half the width of the abutment at its margin, toward the cheek and along the arch."""
        tooth = self.tooth
        return max(tooth.neck_depth / 2 - 0.3, self.base), max(tooth.neck_width / 2, self.base)

    def emergence(self, local, top, edge_mm=EDGE_MM):
        """The part from the platform to the margin, flaring to the neck of the tooth."""
        share = np.clip(local[:, 2] / self.margin, 0.0, 1.0)
        cheek, along = (self.base + share * (half - self.base) for half in self.margin_halves)
        side = 0.9 * ellipse_distance(local, cheek, along)
        body = soft_max(side, -local[:, 2], EDGE_MM)
        body = soft_max(body, local[:, 2] - top, edge_mm)
        stem = np.hypot(local[:, 0], local[:, 1]) - CONNECTION_RADIUS_MM
        ends = np.maximum(-CONNECTION_LENGTH_MM - local[:, 2], local[:, 2] - 1.0)
        stem = np.maximum(stem, ends)
        return soft_min(body, stem, EDGE_MM)

    def post(self, points):
        """The tapered post along the path, from its shoulder on, without its channel.

        Halfway up it is centred on the implant, for its channel follows the implant.
        """
        half_way = (self.margin + self.post_top) / 2
        centre = self.implant.platform + half_way * self.implant.axis
        local = (points - centre) @ frame_of(self.path, self.implant.flat).T + [0, 0, half_way]
        over = np.maximum(local[:, 2] - self.margin, 0.0)
        cheek, along = (
            min(half - SHOULDER_MM, max(WIDE_POST_MM, half - WIDEST_SHOULDER_MM)) - TAPER * over
            for half in self.margin_halves
        )
        side = ellipse_distance(local, cheek, along)
        solid = soft_max(side, local[:, 2] - self.post_top, POST_EDGE_MM)
        return np.maximum(solid, self.margin - 0.4 - local[:, 2])

    def abutment(self, points):
        """Emergence and post with a sharp margin between them, without the channel."""
        emergence = self.emergence(self.implant.local(points), self.margin, SHARP_MM)
        return soft_min(emergence, self.post(points), EDGE_MM)

    def retainer(self, points):
        """The outside of a restoration: the natural crown, drawn to the abutment's margin."""
        local = self.implant.local(points)
        over = np.maximum(local[:, 2] - self.margin, 0.0)
        cheek, along = self.margin_halves
        collar, flare = (
            ellipse_distance(local, cheek + slope * over, along + slope * over)
            for slope in (COLLAR_SLOPE, FLARE_SLOPE)
        )
        collar = np.maximum(collar, over - COLLAR_MM)
        sleeve = np.hypot(local[:, 0], local[:, 1]) - ACCESS_RADIUS_MM - SLEEVE_MM
        sleeve = np.maximum(sleeve, local[:, 2] - self.post_top - SLEEVE_HEIGHT_MM)
        crown = soft_min(crown_field(self.tooth, points), sleeve, 0.4)
        crown = np.maximum(crown, flare)
        return np.maximum(
            soft_min(crown, collar, 0.2), self.margin + MARGIN_GAP_MM - local[:, 2]
        )

    def room(self, points):
        """The abutment and the cement around it, which is thin at the margin."""
        over = self.implant.local(points)[:, 2] - self.margin
        share = np.clip(over / CEMENT_FROM_MM, 0.0, 1.0)
        gap = MARGIN_GAP_MM + share * (CEMENT_GAP_MM - MARGIN_GAP_MM)
        return self.abutment(points) - gap

    def channel(self, local, upper_radius):
        """The screw's way: a shaft, and above the seat room for head and driver."""
        round_about = np.hypot(local[:, 0], local[:, 1])
        head = np.maximum(round_about - upper_radius, SEAT_MM - local[:, 2])
        return np.minimum(round_about - SHAFT_RADIUS_MM, head)


def ellipse_distance(local, half_cheek, half_along):
    """Distance to an upright elliptical cylinder, good near it."""
    away = np.hypot(local[:, 0] / half_cheek, local[:, 1] / half_along)
    steepness = np.hypot(local[:, 0] / half_cheek**2, local[:, 1] / half_along**2)
    return away * (away - 1.0) / np.maximum(steepness, 1e-9)


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


def _solid(shape, low, high, step_mm, turn):
    """Mesh a field inside a box along the rows of a rotation; its ends in those directions."""
    axes = [np.arange(a, b, step_mm) for a, b in zip(low, high, strict=True)]
    grid = np.stack(np.meshgrid(*axes, indexing="ij"), axis=-1)

    def field(points):
        return shape(points @ turn)

    places, quads = surface_nets(field(grid.reshape(-1, 3)).reshape(grid.shape[:3]))
    start = np.array([axis[0] for axis in axes])
    cells = start + (np.floor(places) + 0.5) * step_mm
    points = settle(start + places * step_mm, field, 0.3 * step_mm)
    points, sharp = onto_edges(points, field, cells, step_mm)
    faces = _unfolded(sharp, points, quads, field)
    points, faces, _ = main_pieces(sharp @ turn, faces)
    return points, faces


def _unfolded(sharp, points, quads, field):
    """Triangles over the points on sharp edges; what folds them goes back to where it was."""
    faces = triangles_of(sharp, quads, field)
    for _ in range(UNFOLDINGS):
        moved = np.linalg.norm(sharp - points, axis=1)
        faces_at_edges = faces[(moved[faces] > 0).any(axis=1)]
        folded = faces_at_edges[is_folded(sharp, faces_at_edges, field)]
        if not len(folded):
            break
        back = folded[np.arange(len(folded)), moved[folded].argmax(axis=1)]
        sharp[back] = points[back]
        again = np.flatnonzero(np.isin(quads, back).any(axis=1))
        both = np.concatenate([again, again + len(quads)])
        faces[both] = triangles_of(sharp, quads[again], field)
    return faces


def custom_abutment(site, seed, missing=None, *, step_mm=0.16):
    """A one-piece abutment with shoulder, post and screw channel; closed, one hole through."""
    jaw, _, (one,) = _case(seed, (site,), missing)
    if one.implant is None:
        raise ValueError(f"No implant stands at {site}; an abutment needs one.")

    def shape(points):
        channel = one.channel(one.implant.local(points), HEAD_RADIUS_MM)
        return soft_max(one.abutment(points), -channel, POST_EDGE_MM)

    # Sections of the grid across the implant, one of them just below the margin.
    turn = frame_of(one.implant.axis, one.implant.flat)
    foot = turn @ one.implant.platform
    below = 0.15 + np.ceil((one.margin + 3.0) / step_mm)
    low = foot + [-7.0, -7.0, one.margin - below * step_mm]
    high = foot + [7.0, 7.0, one.post_top + 3.0]
    points, faces = _solid(shape, low, high, step_mm, turn)
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
    value[near] = np.maximum(value[near], OPPOSING_GAP_MM - teeth)
    return value


def crown(site, seed, missing=None, *, step_mm=0.2):
    """A screw-retained crown in one piece from the platform up; closed, one hole through."""
    jaw, opposing, units = _case(seed, (site,), missing)
    (one,) = units
    if one.implant is None:
        raise ValueError(f"No implant stands at {site}; a screw-retained crown needs one.")
    drawn = replace(one.tooth, width=one.tooth.width + DRAWN_OUT_MM)

    def shape(points):
        local = one.implant.local(points)
        natural = soft_max(crown_field(drawn, points), one.margin - 0.2 - local[:, 2], 0.3)
        value = soft_min(natural, one.emergence(local, one.margin + 0.6), 0.5)
        value = _keep_clear(value, points, jaw, opposing, units)
        return soft_max(value, -one.channel(local, ACCESS_RADIUS_MM), EDGE_MM)

    ends = np.stack([
        one.implant.platform - one.implant.axis * (CONNECTION_LENGTH_MM + 1.0),
        one.tooth.point(0, 0, one.tooth.height + 1.5),
    ])  # fmt: skip
    reach = np.array([8.0, 8.0, 0.5])
    low, high = ends.min(axis=0) - reach, ends.max(axis=0) + reach
    points, faces = _solid(shape, low, high, step_mm, np.eye(3))
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


def bridge(sites=("45", "46", "47"), seed=1, missing=None, *, step_mm=0.22):
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
                body = one.retainer(points)
            value = soft_min(value, body, 0.35)
        value = soft_min(value, _connectors(units, points), 0.5)
        value = _keep_clear(value, points, jaw, opposing, units)
        for one in held:
            local = one.implant.local(points)
            value = np.maximum(value, -one.room(points))
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
    low, high = spread.min(axis=0) - reach, spread.max(axis=0) + reach
    points, faces = _solid(shape, low, high, step_mm, turn)
    return DesignMesh(points, faces, {one.tooth.site: one.implant for one in held})
