"""Where does the axis of a screw come out of a design, and where could it if turned?"""

from collections.abc import Sequence

import numpy as np

from casework.measure.arch import ArchFrame
from casework.measure.channels import Channel, Leg, Part
from casework.measure.results import Measured, Quantity
from casework.measure.surfaces.cylinder import highest_within
from casework.measure.surfaces.poses import Pose

AXIS_MM = 0.01  # a face within it of the axis is pierced
PALATAL_MM = 2.0  # from the biting edge of a front tooth, where a channel comes out unseen
EDGE_BAND_MM, TABLE_BAND_MM = 0.6, 2.0  # below the highest place: biting edge, occlusal surface
HALF_UNIT_MM = 3.5  # along the arch to both sides of a site; no unit of a bridge is narrower
ACROSS_MM = 8.0
HOLE_MM = 2.5  # the rim of a channel tells the height of the surface that it took away

EXIT = Quantity(
    "channel_exit", "Angle of the screw channel to the occlusal direction", "deg",
    "between the channel's axis and the occlusal direction of the arch, where it comes out",
)  # fmt: skip
TURN = Quantity(
    "channel_turn", "Angle by which a channel must turn to come out at the wanted place", "deg",
    "between the implant's axis and the way from the head's upper end to that place",
)  # fmt: skip
QUANTITIES = (EXIT, TURN)


def channel_exit(
    site: str,
    channels: Sequence[Channel],
    parts: Sequence[Part],
    leg: Leg,
    frame: ArchFrame | None,
) -> Measured:
    """Return the angle at which the last leg's axis leaves the outermost part, and where.

    `details["region"]` names the side by the way the surface around the exit faces. Where the
    axis comes out through a closed surface, that surface counts.
    """
    place, facing, part = _outermost(channels, parts, leg)
    if place is None:
        return EXIT.not_known(site, "The axis meets none of the designed parts.")
    if frame is None:
        because = "No scan tells the directions of the arch, so the exit has no side."
        return EXIT.not_known(site, because, place, part=part)
    angle = np.degrees(np.arccos(np.clip(leg.pose.axis @ frame.occlusal, -1, 1)))
    outward, distal = frame.leans_deg(leg.pose.axis)
    region = frame.region_of(facing)
    return EXIT.of(
        site, angle, place, part=part, region=region, region_because=frame.because,
        outward_deg=outward, distal_deg=distal,
    )  # fmt: skip


def _outermost(channels, parts, leg):
    """Where the axis leaves the part that reaches highest, and how the surface faces there."""
    exits = [(one.exit_mm, one.facing, one.part) for one in channels if one.leg is leg]
    for part in parts:
        local = leg.pose.to_local(part.vertices)
        pierced = highest_within(local, part.faces, AXIS_MM)
        if pierced is not None and pierced[0] > leg.low_mm:
            a, b, c = part.vertices[part.faces[pierced[2]]]
            exits.append((pierced[0], np.cross(b - a, c - a), part.name))
    if not exits:
        return None, np.zeros(3), ""
    height, facing, part = max(exits, key=lambda one: one[0])
    return leg.pose.to_world(np.array([[0.0, 0.0, height]]))[0], facing, part


def channel_turn(
    site: str,
    pose: Pose,
    bend_mm: float,
    parts: Sequence[Part],
    frame: ArchFrame | None,
    palatal_mm: float = PALATAL_MM,
) -> Measured:
    """Return by how much a channel must turn at `bend_mm` to come out where it is wanted.

    That is the middle of the occlusal surface of the outermost part, of a front tooth so far
    to the tongue's side of the biting edge as `palatal_mm` says.
    """
    if frame is None:
        return TURN.not_known(
            site, "No scan tells the directions of the arch, so no place can be wanted."
        )
    if frame.is_front and not frame.has_sides:
        return TURN.not_known(site, frame.because)
    wanted = _wanted(pose, parts, frame, palatal_mm)
    bend = pose.origin_mm + bend_mm * pose.axis
    way = wanted - bend
    angle = np.degrees(np.arctan2(np.linalg.norm(np.cross(pose.axis, way)), pose.axis @ way))
    aside = way - (way @ pose.axis) * pose.axis
    where = (
        f"{palatal_mm:g} mm {frame.inner} of the incisal edge"
        if frame.is_front
        else "middle of the occlusal surface"
    )
    region = frame.region_of(aside) if np.linalg.norm(aside) > AXIS_MM else ""
    return TURN.of(site, angle, wanted, wanted=where, toward=region, bend_mm=bend.tolist())


def _wanted(pose, parts, frame, palatal_mm):
    """The wanted place (3,) on the surface of the part that reaches highest at the site."""
    turn = np.stack([frame.distal, frame.outward, frame.occlusal], axis=1)
    local = [(part.vertices - pose.origin_mm) @ turn for part in parts]
    units = [
        points[(np.abs(points[:, 0]) < HALF_UNIT_MM) & (np.abs(points[:, 1]) < ACROSS_MM)]
        for points in local
    ]
    k = int(np.argmax([one[:, 2].max() if len(one) else -np.inf for one in units]))
    unit = units[k] if len(units[k]) else local[k]
    top, lowest = unit[:, 2].max(), -np.inf
    if frame.is_front:
        edge = unit[unit[:, 2] > top - EDGE_BAND_MM, :2]
        plan = (edge.min(axis=0) + edge.max(axis=0)) / 2 - [0.0, palatal_mm]
    else:
        lowest = top - TABLE_BAND_MM  # what lies deeper is the bottom of a channel
        table = unit[unit[:, 2] > lowest, :2]
        plan = (table.min(axis=0) + table.max(axis=0)) / 2
    for reach in (AXIS_MM, HOLE_MM):
        found = highest_within(local[k] - [*plan, 0.0], parts[k].faces, reach)
        if found is not None and found[0] > lowest:
            break
    height = top if found is None else found[0]
    return pose.origin_mm + turn @ np.array([*plan, height])
