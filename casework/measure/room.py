"""How much room is there for a restoration, before anything is designed?

Only scans and the poses of the implants are asked. What a scan does not reach is not known.
"""

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from casework.measure.arch import ArchFrame
from casework.measure.drivers import gum_height
from casework.measure.results import Measured, Quantity
from casework.measure.surfaces.cylinder import lowest_within
from casework.measure.surfaces.gaps import Surface, far_distance, scan_surface, without_noise
from casework.measure.surfaces.normals import face_normals, vertex_normals
from casework.measure.surfaces.pieces import compacted, main_pieces
from casework.measure.surfaces.poses import Pose

DISC_MM = 2.5  # radius about the axis within which the least height is sought
CLEAN_MM = 5.0  # more of the scan around it is cleaned and smoothed with it
LOWEST_MM = 0.5  # above the platform: nothing lower can be the opposing jaw
AXIS_MM = 0.001  # about the axis: on a steep flank a wider disc reads much too low
STEEPEST = 0.05  # cosine: where the axis grazes a flank its height is open anyway
FEW_CORNERS = 12  # twice the unknowns of a quadratic surface
NOISE_LEFT = 0.6  # share of the noise by which a least distance is still unsure when smoothed
OVER_GUM_MM, OVER_PLANE_MM = 1.0, 2.0  # between these heights neighbours are looked for
FACING, RISING = 0.5, 0.35  # cosines: a contact surface lies across the arch, upright in 20 deg
BESIDE_MM = 1.0  # from the site's axis along the arch; what is nearer is no neighbour
ALONG_MM = 16.0  # as far along the arch a neighbour is sought
ACROSS_MM = 7.0  # of the arch's middle
BODY_MM = 3.5  # around an axis a scan body may stand
FRONT_HALF_MM, BACK_HALF_MM = 1.0, 3.0  # half width of a biting edge, of an occlusal surface

HEIGHT = Quantity(
    "room_height", "Height from the platform to the opposing jaw", "mm",
    "along the axis, to the first place of the lightly smoothed opposing scan",
)  # fmt: skip
LEAST_HEIGHT = Quantity(
    "room_height_least", "Least height over the platform to the opposing jaw", "mm",
    "lowest place of the lightly smoothed opposing scan within 2.5 mm of the axis",
)  # fmt: skip
GAP_WIDTH = Quantity(
    "gap_width", "Width of the gap between its neighbours", "mm",
    "nearest distance of the contact surfaces; over several units along the implants between",
)  # fmt: skip
UNIT_WIDTH = Quantity(
    "unit_width", "Width for each unit of the gap", "mm",
    "width of the gap divided by the number of its units",
)  # fmt: skip
AXIS_EXIT = Quantity(
    "axis_exit", "Angle of the implant's axis to the occlusal direction", "deg",
    "between the axis and the occlusal direction; side by where it meets the occlusal plane",
)  # fmt: skip
QUANTITIES = (HEIGHT, LEAST_HEIGHT, GAP_WIDTH, UNIT_WIDTH, AXIS_EXIT)


def room_height(
    site: str, pose: Pose, vertices: np.ndarray, faces: np.ndarray, disc_mm: float = DISC_MM
) -> list[Measured]:
    """Return the height over the platform to the opposing scan, on the axis and near it.

    Vertices (m, 3) in mm and faces (n, 3) of the opposing jaw in the bite. Scatter is left out.
    """
    local = pose.to_local(vertices)
    radius = np.hypot(local[:, 0], local[:, 1])
    near = (radius < disc_mm + CLEAN_MM)[faces].any(axis=1)
    near &= (local[:, 2] > LOWEST_MM)[faces].all(axis=1)
    if not near.any():
        because = f"The opposing scan does not reach over the implant at ISO {site}."
        return [one.not_known(site, because) for one in (HEIGHT, LEAST_HEIGHT)]
    surface = without_noise(scan_surface(*compacted(local, faces[near])))
    return [
        _height(HEIGHT, site, pose, surface, AXIS_MM),
        _height(LEAST_HEIGHT, site, pose, surface, disc_mm),
    ]


def _height(quantity, site, pose, surface, radius):
    found = lowest_within(surface.vertices, surface.faces, radius)
    if found is None:
        return quantity.not_known(
            site, f"The opposing scan has no surface on the axis of the implant at ISO {site}."
        )
    raw = lowest_within(surface.raw, surface.faces, radius)
    return quantity.of(
        site, found[0], pose.to_world(found[1][None])[0], _height_95(surface, *found[1:]),
        radius_mm=radius, raw_mm=None if raw is None else raw[0], noise_mm=surface.noise_mm,
        pieces_left_out=len(surface.dropped),
    )  # fmt: skip


def _height_95(surface, place, face):
    """Half of the 95 % interval of the height of a place on a face.

    Of its noise; of its flatness: the middle of a regular triangle with corners on a ball lies
    edge x turn / (2 sqrt 3) under it, the turn being the angle between its normal and those at
    its corners (elementary geometry); and of what it bridges: how far the curved surface
    through the corners around it passes there, which is no chance and adds as it is. On a flank
    all count for more, along the axis.
    """
    corners = surface.faces[face]
    normal = face_normals(surface.vertices, surface.faces[face][None])[0]
    around = np.isin(surface.faces, corners).any(axis=1)
    there = vertex_normals(surface.vertices, surface.faces[around])[corners]
    turn = np.arccos(np.clip(there @ normal, -1.0, 1.0)).max()
    ends = surface.vertices[corners]
    edge = np.linalg.norm(ends - np.roll(ends, 1, axis=0), axis=1).mean()
    beside = np.isin(surface.faces, surface.faces[around]).any(axis=1)
    bridged = _curved_through(surface.raw[np.unique(surface.faces[beside])] - place, normal)
    across = np.hypot(1.96 * NOISE_LEFT * surface.noise_mm, edge * turn / np.sqrt(12))
    return float((across + abs(bridged)) / max(abs(normal[2]), STEEPEST))


def _curved_through(points, normal):
    """How far along a normal from the origin the quadratic surface through points passes, mm.

    0 where there are too few points for one.
    """
    if len(points) < FEW_CORNERS:
        return 0.0
    frame = Pose.of(np.zeros(3), normal)
    x, y, height = frame.to_local(points).T
    terms = np.column_stack([np.ones_like(x), x, y, x * x, x * y, y * y])
    return float(np.linalg.lstsq(terms, height, rcond=None)[0][0])


def gap_width(
    units: Sequence[str],
    poses: Mapping[str, Pose],
    frames: Mapping[str, ArchFrame],
    vertices: np.ndarray,
    faces: np.ndarray,
    has_bodies: bool = False,
) -> list[Measured]:
    """Return the width of a gap and that for each of its units.

    `units`: the missing teeth in their order along the arch; `poses` and `frames` of those that
    have an implant. The scan is that of the working jaw; `has_bodies`: scan bodies stand in it
    at `poses`, and are left out.
    """
    subject = units[0] if len(units) == 1 else f"{units[0]}-{units[-1]}"
    held = [site for site in units if site in poses and site in frames]
    if not held:
        because = f"No implant with a known place stands in the gap at ISO {subject}."
        return _no_width(subject, because)
    is_off = np.ones(len(faces), bool)
    if has_bodies:
        middles = vertices[faces].mean(axis=1)
        for pose in poses.values():
            local = pose.to_local(middles)
            is_off &= np.hypot(local[:, 0], local[:, 1]) > BODY_MM
    # Frames of one gap may differ a little; each neighbour is looked for from its own end.
    ends = []
    for site, way in _ends(held, poses, frames):
        end = _neighbour(vertices, faces[is_off], poses[site], frames[site], way)
        if end is None:
            side = "distal" if way @ frames[site].distal > 0 else "mesial"
            side = f"{side} of" if frames[site].has_sides else "on one side of"
            because = f"No tooth stands {side} ISO {site} within {ALONG_MM:g} mm."
            return _no_width(subject, because, nothing_there=True)
        ends.append(end)
    chord, *contacts = far_distance(*ends)
    width = chord
    if len(units) > 1:
        width = _along_arch(contacts, [(poses[site], frames[site]) for site in held])
    half = 1.96 * NOISE_LEFT * float(np.hypot(ends[0].noise_mm, ends[1].noise_mm))
    details = {
        "chord_mm": chord,
        "contacts_mm": [one.tolist() for one in contacts],
        "units": len(units),
    }
    middle = (contacts[0] + contacts[1]) / 2
    return [
        GAP_WIDTH.of(subject, width, middle, half, **details),
        UNIT_WIDTH.of(subject, width / len(units), middle, half / len(units), **details),
    ]


def _along_arch(contacts, held):
    """From contact to contact by way of the implants, along the arch."""
    (first, frame), (last, end) = held[0], held[-1]
    length = abs((contacts[0] - first.origin_mm) @ frame.distal)
    length += abs((contacts[1] - last.origin_mm) @ end.distal)
    for (one, own), (two, _) in zip(held, held[1:], strict=False):
        way = two.origin_mm - one.origin_mm
        length += np.linalg.norm(way - (way @ own.occlusal) * own.occlusal)
    return float(length)


def _no_width(subject, because, **details):
    return [one.not_known(subject, because, **details) for one in (GAP_WIDTH, UNIT_WIDTH)]


def _ends(held, poses, frames):
    """The first and the last implant of a gap, and the direction out of the gap from each."""
    first, last = held[0], held[-1]
    if first == last:
        return [(first, -frames[first].distal), (first, frames[first].distal)]
    along = poses[last].origin_mm - poses[first].origin_mm
    return [
        (first, -np.sign(along @ frames[first].distal) * frames[first].distal),
        (last, np.sign(along @ frames[last].distal) * frames[last].distal),
    ]


def _neighbour(vertices, faces, pose, frame, way) -> Surface | None:
    """What stands beside a site in one direction, in the band of heights of the contacts."""
    at = _at_level(pose, frame)
    off = vertices - at
    up, aside, along = off @ frame.occlusal, off @ frame.outward, off @ way
    local = pose.to_local(vertices)
    inside = (local[:, 2] > gum_height(local) + OVER_GUM_MM) & (up < OVER_PLANE_MM)
    inside &= np.abs(aside) < ACROSS_MM
    inside &= (along > BESIDE_MM) & (along < ALONG_MM)
    near = inside[faces].all(axis=1)
    if not near.any():
        return None
    surface = without_noise(scan_surface(*compacted(vertices, faces[near])))
    normals = face_normals(surface.vertices, surface.faces)
    is_contact = (np.abs(normals @ way) > FACING) & (np.abs(normals @ frame.occlusal) < RISING)
    if not is_contact.any():
        return None
    kept = main_pieces(surface.vertices, surface.faces[is_contact])[:2]
    return replace(scan_surface(*kept), noise_mm=surface.noise_mm)


def _at_level(pose, frame):
    """Where the implant's axis meets the occlusal plane (3,)."""
    rise = (frame.middle_mm - pose.origin_mm) @ frame.occlusal
    return pose.origin_mm + rise / (pose.axis @ frame.occlusal) * pose.axis


def axis_exit(site: str, pose: Pose, frame: ArchFrame | None) -> Measured:
    """Return the angle of the axis to the occlusal direction, and on which side it comes out.

    The side is that of the place where the axis meets the occlusal plane, across the middle of
    the arch: within 1 mm of it for a front tooth "incisal", within 3 mm behind "occlusal".
    """
    if frame is None:
        return AXIS_EXIT.not_known(site, "No scan tells the directions of the arch.")
    angle = np.degrees(np.arccos(np.clip(pose.axis @ frame.occlusal, -1, 1)))
    if angle > 80:
        return AXIS_EXIT.not_known(
            site, f"The implant at ISO {site} lies across the occlusal direction."
        )
    place = _at_level(pose, frame)
    aside = float((place - frame.middle_mm) @ frame.outward)
    half = FRONT_HALF_MM if frame.is_front else BACK_HALF_MM
    region = frame.biting
    if abs(aside) > half:
        region = frame.outer if aside > 0 else frame.inner
        region = region if frame.has_sides else ""
    outward, distal = frame.leans_deg(pose.axis)
    details = {"aside_mm": aside, "outward_deg": outward, "distal_deg": distal}
    if not frame.has_sides:
        details = {name: abs(value) for name, value in details.items()}
    return AXIS_EXIT.of(
        site, angle, place, region=region, region_because=frame.because, **details
    )
