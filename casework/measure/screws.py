"""Do screw and driver, as solids on the implant's axis, go through a design?

Heights are above the platform, along the axis; above the bend of a turned channel along the
channel. The bend lies at the upper end of the seated head. All distances around the axis are
exact for the triangles as they are.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from casework.measure.arch import ArchFrame
from casework.measure.channels import (
    CONNECTION_MM,
    REACH_MM,
    Channel,
    Leg,
    Part,
    channel_of,
    legs_of,
)
from casework.measure.drivers import driver_solid, tip_height
from casework.measure.exits import channel_exit, channel_turn
from casework.measure.results import Measured, Quantity
from casework.measure.surfaces.cylinder import cut_between, free_radius, highest_within
from casework.measure.surfaces.poses import Pose

SEAT_CORNER_MM = 0.2  # the corner of a seat is rounded; above it the wall of the bore counts
STEP_MM = 0.25  # of the profile told
NARROW_STEP_MM = 0.05
BLOCKED_MM = 0.05  # a bore of less radius is none
AROUND_MM = 4.0  # a part that comes nowhere so near to the axis is not meant

CHANNEL = Quantity(
    "screw_channel_radius", "Least free radius around the screw's axis", "mm",
    "exact distance of the triangles from the axis, along the whole channel; 0: blocked",
)  # fmt: skip
HEAD_REST = Quantity(
    "screw_head_rest", "Height at which the screw's head comes to rest", "mm",
    "highest place within the head's radius of the axis, coming from above",
)  # fmt: skip
SEAT_GAP = Quantity(
    "screw_seat_gap", "Height of the resting head above its seat", "mm",
    "resting height less the height of the seat; above 0 the head does not reach it",
)  # fmt: skip
HEAD_CLEARANCE = Quantity(
    "screw_head_clearance", "Radial clearance of the screw's head", "mm",
    "least free radius from the seat to the channel's upper end, less the head's radius",
)  # fmt: skip
DRIVER_CLEARANCE = Quantity(
    "driver_clearance", "Radial clearance of the driver in the restoration", "mm",
    "least free radius along the seated driver, less its radius there",
)  # fmt: skip
WALL = Quantity(
    "channel_wall", "Least wall around the screw channel", "mm",
    "nearest distance from the bore to the outward-facing outer wall; the exit is no wall",
)  # fmt: skip
QUANTITIES = (CHANNEL, HEAD_REST, SEAT_GAP, HEAD_CLEARANCE, DRIVER_CLEARANCE, WALL)


def measure_screw(
    site: str,
    pose: Pose,
    parts: Sequence[Part],
    screw: Mapping[str, float],
    driver: Mapping[str, float],
    channel_axis: np.ndarray | None = None,
    frame: ArchFrame | None = None,
) -> list[Measured]:
    """Return everything about the screw at a site, through the parts that lie around its axis.

    `parts` in the frame of `pose`, each once. `screw`: head_diameter_mm, head_height_mm,
    seat_height_mm, shank_diameter_mm; `driver`: see `drivers.driver_solid`; what is not told is
    not guessed. `channel_axis` (3,): of a turned channel. `frame`: names the sides.
    """
    around = [part for part in parts if _is_around(part, pose)]
    if not around:
        because = f"None of the designed parts stands around the implant's axis at ISO {site}."
        return [quantity.not_known(site, because) for quantity in QUANTITIES]
    seat = _seat(pose, around, screw)
    bend = (seat.height_mm or 0.0) + (screw.get("head_height_mm") or 0.0)
    legs = legs_of(pose, bend, channel_axis)
    channels = _channels(around, legs)
    return [
        _free_channel(site, around, legs, screw),
        *_rest(site, around, legs, screw, seat),
        _head_clearance(site, around, legs, screw, seat),
        _driver_clearance(site, around, legs, screw, driver, seat),
        *_walls(site, channels, frame),
        channel_exit(site, channels, around, legs[-1], frame),
        channel_turn(site, pose, bend, around, frame),
    ]


def _is_around(part, pose):
    local = pose.to_local(part.vertices)
    near = np.hypot(local[:, 0], local[:, 1]) < AROUND_MM
    if not near.any():  # large triangles may still pass
        near = np.isfinite(free_radius(local, part.faces, [(0.0, np.inf)]).radius_mm)
        return bool(near.any() and highest_within(local, part.faces, AROUND_MM))
    return bool((local[near, 2] > 0).any())


@dataclass(frozen=True)
class _Seat:
    """Height of the seat of the head above the platform; None where neither told nor found."""

    height_mm: float | None
    is_told: bool

    @property
    def where(self) -> str:
        return "told" if self.is_told else "found: the lowest place narrower than the head"


def _seat(pose, parts, screw):
    told = screw.get("seat_height_mm")
    if told is not None:
        return _Seat(float(told), True)
    head = screw.get("head_diameter_mm")
    return _Seat(None if head is None else _found_seat(pose, parts, head / 2), False)


def _found_seat(pose, parts, radius):
    """The upper end of the lowest stretch that is narrower than the head; None without one."""
    locals_ = [pose.to_local(part.vertices) for part in parts]
    low = min(local[:, 2].min() for local in locals_)
    high = max(local[:, 2].max() for local in locals_)
    levels = np.arange(low, high + NARROW_STEP_MM, NARROW_STEP_MM)
    stretches = np.column_stack([levels, levels + NARROW_STEP_MM])
    pairs = list(zip(locals_, parts, strict=True))
    free = np.min(
        [free_radius(local, one.faces, stretches).radius_mm for local, one in pairs], axis=0
    )
    narrow = np.flatnonzero(free < radius)
    if not len(narrow):
        return None
    ends = np.flatnonzero(np.diff(narrow, append=len(levels) + 1) > 1)
    limit = levels[narrow[ends[0]]] + NARROW_STEP_MM
    if limit >= high:
        return None
    found = [
        highest_within(*cut_between(local, one.faces, -np.inf, limit), radius)
        for local, one in pairs
    ]
    return max(one[0] for one in found if one is not None)


def _channels(parts, legs):
    """The channels of all parts; one that stands on another begins where that one ends."""
    tops = [legs[0].pose.to_local(part.vertices)[:, 2].max() for part in parts]
    order, under, found = np.argsort(tops, kind="stable"), CONNECTION_MM, []
    for k in order:
        found += [channel_of(parts[k], leg, under) for leg in legs]
        under = max(under, tops[k])
    return [channel for channel in found if channel.is_found]


def _least(parts, legs, stretches_of):
    """Part, leg, radius and place (3,) in the world where the channel is narrowest.

    `stretches_of(leg)` gives stretches (k, 2) and radii (k,) taken off; None if all are empty.
    """
    best = None
    for part in parts:
        for leg in legs:
            stretches, radii = stretches_of(leg)
            if not len(stretches):
                continue
            local = leg.pose.to_local(part.vertices)
            free = free_radius(local, part.faces, stretches)
            gap = free.radius_mm - radii
            k = int(np.argmin(gap))
            if np.isfinite(gap[k]) and (best is None or gap[k] < best[2]):
                place = leg.pose.to_world(free.place_mm[k : k + 1])[0]
                best = part, leg, float(gap[k]), place, float(free.place_mm[k, 2])
    return best


def _free_channel(site, parts, legs, screw):
    part, _, radius, place, height = _least(
        parts, legs, lambda leg: (np.array([[leg.low_mm, leg.high_mm]]), np.zeros(1))
    )
    details = {"part": part.name, "height_mm": height, "is_blocked": radius < BLOCKED_MM}
    if screw.get("shank_diameter_mm"):
        details["shank_clearance_mm"] = radius - screw["shank_diameter_mm"] / 2
    return CHANNEL.of(site, radius, place, profile=_profile(parts, legs), **details)


def _profile(parts, legs):
    """[height, free radius] in steps along the channel, empty stretches left out."""
    found = []
    for leg in legs:
        locals_ = [leg.pose.to_local(part.vertices) for part in parts]
        low = max(min(local[:, 2].min() for local in locals_), leg.low_mm)
        high = min(max(local[:, 2].max() for local in locals_), leg.high_mm)
        levels = np.arange(np.floor(low / STEP_MM), np.ceil(high / STEP_MM)) * STEP_MM
        if not len(levels):
            continue
        stretches = np.column_stack([levels, levels + STEP_MM])
        free = [
            free_radius(local, part.faces, stretches).radius_mm
            for local, part in zip(locals_, parts, strict=True)
        ]
        found += [
            [float(level + STEP_MM / 2), float(radius)]
            for level, radius in zip(levels, np.min(free, axis=0), strict=True)
            if np.isfinite(radius) and radius < AROUND_MM
        ]
    return found


def _rest(site, parts, legs, screw, seat):
    """Where the head comes to rest, and how high above its seat."""
    head = screw.get("head_diameter_mm")
    if not head:
        because = "The diameter of the screw's head is not told."
        return [HEAD_REST.not_known(site, because), SEAT_GAP.not_known(site, because)]
    for leg in reversed(legs):
        held = [
            (*found, part)
            for part in parts
            if (found := _highest(part, leg, head / 2)) is not None
        ]
        if held:
            break
    else:
        because = (
            f"Nothing holds the screw's head of {head:.2f} mm: the channel is wider everywhere."
        )
        return [HEAD_REST.not_known(site, because), SEAT_GAP.not_known(site, because)]
    height, local, _, part = max(held, key=lambda one: one[0])
    place = leg.pose.to_world(local[None])[0]
    details = {"part": part.name, "is_in_turned_channel": leg is not legs[0]}
    rest = HEAD_REST.of(site, height, place, **details)
    if seat.height_mm is None:
        because = (
            "The height of the seat is not told, and the channel narrows nowhere below a wider"
            " place, so no seat shows."
        )
        return [rest, SEAT_GAP.not_known(site, because, place)]
    details |= {"seat_height_mm": seat.height_mm, "seat_is": seat.where, "rest_mm": height}
    return [rest, SEAT_GAP.of(site, height - seat.height_mm, place, **details)]


def _highest(part, leg, radius):
    local = leg.pose.to_local(part.vertices)
    return highest_within(*cut_between(local, part.faces, leg.low_mm, leg.high_mm), radius)


def _head_clearance(site, parts, legs, screw, seat):
    head = screw.get("head_diameter_mm")
    if not head:
        return HEAD_CLEARANCE.not_known(site, "The diameter of the screw's head is not told.")
    if seat.height_mm is None:
        return HEAD_CLEARANCE.not_known(site, "Where the seat of the screw lies is not known.")
    low = seat.height_mm + SEAT_CORNER_MM

    def way(leg):
        start = max(low, leg.low_mm)
        stretches = [[start, leg.high_mm]] if start < leg.high_mm else []
        return np.array(stretches).reshape(-1, 2), np.full(len(stretches), head / 2)

    found = _least(parts, legs, way)
    if found is None:
        return HEAD_CLEARANCE.not_known(site, "No part lies around the way of the head.")
    part, _, gap, place, height = found
    return HEAD_CLEARANCE.of(
        site, gap, place, part=part.name, height_mm=height, head_diameter_mm=head
    )


def _driver_clearance(site, parts, legs, screw, driver, seat):
    solid, missing = driver_solid(driver)
    if missing:
        names = " and ".join(missing)
        return DRIVER_CLEARANCE.not_known(site, f"Of the driver, {names} is not told.")
    if seat.height_mm is None:
        return DRIVER_CLEARANCE.not_known(
            site, "Where the seat of the screw lies is not known."
        )
    steps = solid.raised(tip_height(screw, seat.height_mm)).steps
    low = max(legs[-1].low_mm, seat.height_mm + SEAT_CORNER_MM)
    stretches = np.maximum(steps[:, :2], low)
    is_left = stretches[:, 1] > stretches[:, 0]
    found = _least(parts, legs[-1:], lambda leg: (stretches[is_left], steps[is_left, 2]))
    if found is None:
        return DRIVER_CLEARANCE.not_known(site, "No part lies around the way of the driver.")
    part, _, gap, place, height = found
    return DRIVER_CLEARANCE.of(
        site, gap, place, part=part.name, height_mm=height, tip_height_mm=steps[0, 0],
        is_handle_told=bool(driver.get("handle_diameter_mm")),
    )  # fmt: skip


def _walls(site, channels, frame):
    """The least wall of each part that has a channel; a turned channel in one value."""
    if not channels:
        return [WALL.not_known(site, "No part has a bore around the screw's axis.")]
    names = dict.fromkeys(channel.part for channel in channels)
    return [_wall(site, [one for one in channels if one.part == name], frame) for name in names]


def _wall(site, channels: list[Channel], frame):
    found = [(wall, one) for one in channels if (wall := one.wall()) is not None]
    part = channels[0].part
    if not found and any(len(one.outer) for one in channels):
        return WALL.at_least(site, REACH_MM, part=part)
    if not found:
        return WALL.not_known(site, f"{part} has no outer wall around the channel.", part=part)
    (least, inner, outer), channel = min(found, key=lambda one: one[0][0])
    height = channel.leg.pose.to_local(inner[None])[0, 2]
    return WALL.of(
        site, least, inner, part=part, height_mm=height, outer_mm=outer.tolist(),
        region="" if frame is None else frame.region_of(outer - inner),
        by_height=[row for one in channels for row in one.by_height()],
    )  # fmt: skip


def channel_wall_field(part: Part, leg: Leg, from_mm: float = CONNECTION_MM) -> np.ndarray:
    """Return for each vertex (m,) of a part on its bore the way to the outer wall in mm.

    nan elsewhere, and where no outer wall lies within reach.
    """
    channel = channel_of(part, leg, from_mm)
    field = np.full(len(part.vertices), np.nan)
    on = np.unique(channel.bore)
    on = on[on < len(part.vertices)]
    if len(on):
        away = channel.outside.closest(channel.local[on]).distance_mm
        field[on] = np.where(np.isfinite(away), away, np.nan)
    return field
