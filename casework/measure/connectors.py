"""How strong in area, height and rounding is each connector of a bridge?"""

from dataclasses import dataclass

import numpy as np

from casework.measure.embrasures import embrasure_radius, outline_radius
from casework.measure.joints import Bridge, Joint, along_the_arch, bridge_of
from casework.measure.results import Measured, Quantity
from casework.measure.surfaces.poses import Pose
from casework.measure.surfaces.sections import Sections

WIDEST_GAP_MM = 0.05  # of an open surface across a section that may still be bridged
OUTLINE_POINTS = 120  # of a section, to be drawn

AREA = Quantity(
    "connector_area",
    "Smallest section of a connector",
    "mm2",
    "smallest plane section between two units, plane free to move and to tilt by 25 degrees",
)
HEIGHT = Quantity(
    "connector_height",
    "Height of a connector",
    "mm",
    "extent of its smallest section from gingival to occlusal",
)
WIDTH = Quantity(
    "connector_width",
    "Width of a connector",
    "mm",
    "extent of its smallest section from cheek or lip to tongue",
)
EMBRASURE = Quantity(
    "embrasure_radius",
    "Rounding of the gingival embrasure at a connector",
    "mm",
    "least radius of circles fitted to 0.6 mm of the hollow outline under the connector, "
    "in the plane along the bridge through its centre",
)
QUANTITIES = (AREA, HEIGHT, WIDTH, EMBRASURE)


@dataclass(frozen=True, slots=True)
class Span:
    """What a connector bears: pontics between the retainers beside it, and where.

    `pontics` counts those of the stretch without retainer in which the connector stands;
    `is_cantilever` where only one end of it is held; `region` is "anterior", "premolar" or
    "molar", that of the hindmost tooth of the stretch and its retainers.
    """

    pontics: int
    is_cantilever: bool
    region: str


def connectors(
    vertices: np.ndarray,
    faces: np.ndarray,
    sites: tuple[str, ...],
    units: dict[str, np.ndarray | Pose] | None = None,
    occlusal: np.ndarray | None = None,
) -> list[Measured]:
    """Return area, height, width and embrasure of the joint between each two neighbours.

    vertices (m, 3) in mm and faces (n, 3) of the bridge; `sites` in their order along the arch
    (ISO 3950); `units`, where known, the place (3,) of a unit or the `Pose` of the implant
    under it; `occlusal` (3,) from the gums to the opposing jaw. See `joints.bridge_of` and
    `connectors_of`, which take a bridge whose joints are found.
    """
    bridge = bridge_of(vertices, faces, sites, units, occlusal)
    return connectors_of(bridge, vertices, faces, sites, occlusal)


def connectors_of(
    bridge: Bridge,
    vertices: np.ndarray,
    faces: np.ndarray,
    sites: tuple[str, ...],
    occlusal: np.ndarray | None = None,
) -> list[Measured]:
    """Return the same for a bridge whose joints are found."""
    if len(sites) < 2:
        return []
    if bridge.because:
        names = ["-".join(pair) for pair in zip(sites, sites[1:], strict=False)]
        return [
            quantity.not_known(name, bridge.because)
            for name in names
            for quantity in QUANTITIES
        ]
    cuts = Sections(vertices, faces)
    return [one for joint in bridge.joints for one in _joint(joint, bridge, cuts, occlusal)]


def _joint(joint: Joint, bridge: Bridge, cuts, occlusal):
    section, name, place = joint.section, joint.name, joint.place_mm
    if section.gap_mm > WIDEST_GAP_MM:
        because = f"The surface is open by {section.gap_mm:.2f} mm at the connector {name}."
        return [quantity.not_known(name, because, place) for quantity in QUANTITIES]
    if section.is_empty:
        because = f"Nothing joins the units of {name}: a plane between them cuts no material."
        return [
            AREA.of(name, 0.0, place, 0.0, is_joined=False, order=bridge.order),
            *(one.not_known(name, because, place) for one in QUANTITIES[1:]),
        ]
    area = AREA.of(
        name,
        section.area_mm2,
        place,
        section.facet_error_mm2,
        is_joined=True,
        order=bridge.order or "not known",
        normal=section.normal,
        tilt_deg=joint.tilt_deg,
        perimeter_mm=section.perimeter_mm,
        outline_radius_mm=outline_radius(section),
        loops=len(section.starts) - 1,
        outlines_mm=[_drawn(loop) for loop in section.loops_mm],
    )
    return [area, *_extents(joint, bridge, occlusal), _embrasure(joint, cuts, occlusal)]


def _extents(joint, bridge, occlusal):
    section, name = joint.section, joint.name
    up = bridge.upright if occlusal is None else np.asarray(occlusal, float)
    if up is None:
        because = "Which way is up is not told, and the bridge is too straight to show it."
        widths = _least_and_greatest(section)
        return [
            one.not_known(name, because, joint.place_mm, **widths) for one in (HEIGHT, WIDTH)
        ]
    up = up - (up @ section.normal) * section.normal
    up = up / np.linalg.norm(up)
    across = np.cross(section.normal, up)
    return [
        HEIGHT.of(name, section.extent_mm(up), joint.place_mm, direction=up),
        WIDTH.of(name, section.extent_mm(across), joint.place_mm, direction=across),
    ]


def _least_and_greatest(section):
    turns = np.radians(np.arange(0, 180, 2))
    extents = [
        section.extent_mm(np.cos(turn) * section.u + np.sin(turn) * section.v) for turn in turns
    ]
    return {"least_extent_mm": min(extents), "greatest_extent_mm": max(extents)}


def _embrasure(joint, cuts, occlusal):
    if occlusal is None:
        return EMBRASURE.not_known(
            joint.name, "Which side of the connector is gingival is not told.", joint.place_mm
        )
    up = np.asarray(occlusal, float) / np.linalg.norm(occlusal)
    found = embrasure_radius(cuts, joint.place_mm, joint.along, up)
    if found is None:
        return EMBRASURE.not_known(
            joint.name, "The outline under the connector is nowhere hollow.", joint.place_mm
        )
    return EMBRASURE.of(joint.name, *found)


def _drawn(loop):
    """At most so many points of a loop, rounded to a thousandth of a millimetre."""
    step = -(-len(loop) // OUTLINE_POINTS)
    return np.round(loop[::step], 3).tolist()


def span_of(units: list[tuple[str, str]], joint: tuple[str, str]) -> Span:
    """Return what the connector between two neighbouring units bears.

    `units` are (tooth, kind) along the arch, kind "retainer", "crown" or "pontic"; whatever is
    no pontic holds. A connector between two that hold bears no pontic.
    """
    teeth = [tooth for tooth, _ in units]
    at = sorted(teeth.index(tooth) for tooth in joint)
    if at[1] != at[0] + 1:
        raise ValueError("a connector stands between neighbours")
    low, high = at
    while low >= 0 and units[low][1] == "pontic":
        low -= 1
    while high < len(units) and units[high][1] == "pontic":
        high += 1
    reached = teeth[max(low, 0) : high + 1]
    return Span(high - low - 1, low < 0 or high == len(units), _region(reached))


def _region(teeth):
    hindmost = max(abs(along_the_arch(tooth)) for tooth in teeth)
    return "anterior" if hindmost <= 3 else "premolar" if hindmost <= 5 else "molar"
