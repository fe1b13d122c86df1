"""How wide and long are the front units, do left and right match, and is the middle right?"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from casework.measure.arch import ArchFrame
from casework.measure.joints import Bridge, along_the_arch, units_of
from casework.measure.midlines import Midline
from casework.measure.results import Measured, Quantity
from casework.measure.surfaces.gaps import signed_distances
from casework.measure.surfaces.nearest import Nearest
from casework.measure.surfaces.normals import face_normals
from casework.measure.surfaces.sampling import spread

OUTWARD_COSINE = 0.3  # of faces that are seen from the front
GUM_REACH_MM = 3.0
SAMPLE_MM = 0.2  # from place to place where the gum may cut a unit off
LEAST_RESIDUAL_MM = 0.3  # teeth of both sides agree no better, however the plane fits

WIDTH = Quantity(
    "crown_width", "Width of a crown or unit", "mm",
    "extent along the arch, from joint to joint where units are joined",
)  # fmt: skip
LENGTH = Quantity(
    "crown_length", "Length of a crown or unit", "mm",
    "extent of the side to lip or cheek along the occlusal direction, above the gum if scanned",
)  # fmt: skip
RATIO = Quantity("width_to_length", "Width to length of a unit", "", "width over length")
PAIR_WIDTH = Quantity(
    "pair_width_difference", "Difference in width of a pair", "mm",
    "width of the unit on the patient's right less that on the left",
)  # fmt: skip
PAIR_LENGTH = Quantity(
    "pair_length_difference", "Difference in length of a pair", "mm",
    "length of the unit on the patient's right less that on the left",
)  # fmt: skip
MIDLINE = Quantity(
    "midline_offset", "Offset of the midline", "mm",
    "place between the central incisors, to the patient's right of the plane in which the arch "
    "mirrors itself",
)  # fmt: skip
QUANTITIES = (WIDTH, LENGTH, RATIO, PAIR_WIDTH, PAIR_LENGTH, MIDLINE)


@dataclass(frozen=True, eq=False)
class UnitShape:
    """A unit by itself: its surface, the direction along the arch and to the lip (unit, (3,)).

    `ends_mm` are places (3,) where it begins and ends along the arch, None where its own form
    does. `outward` is None where it is not known.
    """

    site: str
    vertices: np.ndarray
    faces: np.ndarray
    along: np.ndarray
    outward: np.ndarray | None
    ends_mm: tuple[np.ndarray | None, np.ndarray | None] = (None, None)


def shape_of_crown(vertices: np.ndarray, faces: np.ndarray, frame: ArchFrame) -> UnitShape:
    """Return a crown as a unit, in the frame of its site."""
    outward = frame.outward if frame.has_sides else None
    return UnitShape(frame.site, vertices, faces, frame.distal, outward)


def shapes_of_bridge(
    vertices: np.ndarray,
    faces: np.ndarray,
    bridge: Bridge,
    sites: Sequence[str],
    occlusal: np.ndarray,
) -> list[UnitShape]:
    """Return the units of a bridge whose joints are found, cut apart at these.

    Outward is to the side to which the line of the bridge bends; not known of a straight one.
    """
    if bridge.because or not bridge.joints:
        return []
    unit = units_of(vertices[faces].mean(axis=1), bridge, tuple(sites))
    places = [None, *(joint.place_mm for joint in bridge.joints), None]
    line = bridge.line
    at = [0, *(line.nearest(place) for place in places[1:-1]), len(line.points) - 1]
    shapes = []
    for k, site in enumerate(sites):
        along = _flat(line.points[at[k + 1]] - line.points[at[k]], occlusal)
        outward = None
        if bridge.upright is not None:
            outward = np.cross(along, occlusal)
            outward = outward * np.sign(outward @ line.bend)
        ends = (places[k], places[k + 1])
        shapes.append(UnitShape(site, vertices, faces[unit == k], along, outward, ends))
    return shapes


def look(
    shapes: Sequence[UnitShape],
    occlusal: np.ndarray,
    middle: Midline | None = None,
    gum: tuple[np.ndarray, np.ndarray] | None = None,
) -> list[Measured]:
    """Return width, length and their ratio of each unit, pairs compared, and the midline.

    `occlusal` (3,) points from the gums to the opposing jaw; `gum` gives vertices and faces of
    the scan without scan bodies, in whose tissue a unit's length does not count.
    """
    occlusal = np.asarray(occlusal, float) / np.linalg.norm(occlusal)
    tissue = None if gum is None else Nearest(*gum, GUM_REACH_MM)
    sizes = {shape.site: _size(shape, occlusal, tissue) for shape in shapes}
    rows = [row for site, size in sizes.items() for row in _rows(site, size)]
    for right, left in _pairs(sizes):
        rows += _compared(right, left, sizes)
    return [*rows, *_middle(shapes, middle)]


@dataclass(frozen=True, slots=True)
class _Size:
    width_mm: float | None
    length_mm: float | None
    place_mm: np.ndarray | None
    because: str = ""


def _size(shape, occlusal, tissue):
    if not len(shape.faces):
        return _Size(None, None, None, f"The mesh shows nothing of {shape.site}.")
    used = np.unique(shape.faces)
    along = shape.vertices[used] @ shape.along
    low, high = along.min(), along.max()
    if shape.ends_mm[0] is not None:
        low = shape.ends_mm[0] @ shape.along
    if shape.ends_mm[1] is not None:
        high = shape.ends_mm[1] @ shape.along
    place = shape.vertices[used].mean(axis=0)
    if shape.outward is None:
        because = f"Which side of {shape.site} is that of the lip is not known."
        return _Size(float(high - low), None, place, because)
    seen = face_normals(shape.vertices, shape.faces) @ shape.outward > OUTWARD_COSINE
    corners = shape.vertices[np.unique(shape.faces[seen])]
    if tissue is not None and len(corners):
        corners = np.vstack([corners, spread(shape.vertices, shape.faces[seen], SAMPLE_MM)[0]])
        corners = corners[~(signed_distances(corners, tissue) < 0)]
    if not len(corners):
        because = f"Nothing of {shape.site} is seen from the side of the lip."
        return _Size(float(high - low), None, place, because)
    return _Size(float(high - low), float(np.ptp(corners @ occlusal)), place)


def _rows(site, size):
    if size.width_mm is None:
        return [one.not_known(site, size.because) for one in (WIDTH, LENGTH, RATIO)]
    width = WIDTH.of(site, size.width_mm, size.place_mm)
    if size.length_mm is None:
        others = (one.not_known(site, size.because, size.place_mm) for one in (LENGTH, RATIO))
        return [width, *others]
    return [
        width,
        LENGTH.of(site, size.length_mm, size.place_mm),
        RATIO.of(site, size.width_mm / max(size.length_mm, 1e-9), size.place_mm),
    ]


def _pairs(sites):
    """Right and left of the same tooth, where both are there."""
    for site in sites:
        other = {"1": "2", "4": "3"}.get(site[0], "") + site[1:]
        if other in sites and len(other) == len(site):
            yield site, other


def _compared(right, left, sizes):
    name = f"{right}-{left}"
    rows = []
    for quantity, field in ((PAIR_WIDTH, "width_mm"), (PAIR_LENGTH, "length_mm")):
        values = [getattr(sizes[site], field) for site in (right, left)]
        if None in values:
            because = next(sizes[site].because for site in (right, left) if sizes[site].because)
            rows.append(quantity.not_known(name, because))
        else:
            rows.append(
                quantity.of(name, values[0] - values[1], right=values[0], left=values[1])
            )
    return rows


def _middle(shapes, middle):
    """Where the central incisors meet, against the midline of the arch."""
    central = [shape for shape in shapes if shape.site[1:] == "1"]
    if len(central) != 2 or {along_the_arch(one.site) for one in central} != {-1, 1}:
        return []
    name = "-".join(sorted((one.site for one in central), key=along_the_arch))
    if middle is None:
        return [MIDLINE.not_known(name, "The midline of the arch is not known.")]
    place = _between(*central)
    # Teeth that do not mirror each other move the plane by about as much as they differ.
    unsure = 2 * max(middle.residual_mm, LEAST_RESIDUAL_MM)
    return [MIDLINE.of(name, middle.offset_mm(place), place, unsure)]


def _between(one, two):
    """The place of the joint that both share, or the middle between their facing ends."""
    for place in one.ends_mm:
        if place is not None and any(place is other for other in two.ends_mm):
            return place
    centres = [shape.vertices[np.unique(shape.faces)].mean(axis=0) for shape in (one, two)]
    facing = []
    for shape, toward in ((one, centres[1] - centres[0]), (two, centres[0] - centres[1])):
        corners = shape.vertices[np.unique(shape.faces)]
        facing.append(corners[np.argmax(corners @ toward)])
    return (facing[0] + facing[1]) / 2


def _flat(direction, occlusal):
    flat = direction - (direction @ occlusal) * occlusal
    return flat / np.linalg.norm(flat)
