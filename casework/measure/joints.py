"""Where is each joint of a bridge, between which units, and which plane cuts least of it?"""

from dataclasses import dataclass

import numpy as np
from scipy.optimize import minimize
from scipy.spatial import cKDTree

from casework.measure.bridge_lines import REACH_MM, STEP_MM, BridgeLine, bridge_line
from casework.measure.surfaces.poses import Pose
from casework.measure.surfaces.sections import Section, Sections

TILT_DEG = 25.0  # of the plane against the bridge's line; more would slice along a unit
ROOM = 0.3  # the plane stays where the hull is at most so far up from joint to unit
LEAST_ROOM_MM = 0.3
MOST_ROOM_MM = 2.5
OFFSETS = 9  # of the first, coarse look for the least section
TILTS = (-0.6, 0.0, 0.6)  # of the greatest tilt, about both axes
STARTS = 2  # best coarse planes that are followed down
AREA_TOLERANCE_MM2 = 1e-5
LEAST_BEND_MM = 2.5  # of the line; less may come from the form of single units
FARTHEST_MM = 12.0  # of a told unit from the line: more than the depth of any tooth
DOUBTFUL = 0.7  # a narrow place too many that is so much as clear as one that is taken
MIDDLE = 1e-4  # a share of the area per mm²: along a bar, where all are alike, take its middle
PLANE_TOLERANCE = 1e-4  # of mm and of the share of the greatest tilt


@dataclass(frozen=True, eq=False)
class Joint:
    """The smallest section between two neighbouring units, and where on the line it was found.

    `along` is the direction of the bridge there, from the first unit to the second.
    """

    sites: tuple[str, str]
    section: Section
    along: np.ndarray

    @property
    def name(self) -> str:
        return "-".join(self.sites)

    @property
    def place_mm(self) -> np.ndarray:
        """Centre of the section, or where it was sought if nothing joins the units."""
        centre = self.section.centroid_mm
        return self.section.origin_mm if centre is None else centre

    @property
    def tilt_deg(self) -> float:
        cosine = abs(self.section.normal @ self.along)
        return float(np.degrees(np.arccos(min(cosine, 1.0))))


@dataclass(frozen=True, eq=False)
class Bridge:
    """The joints of a bridge in the order of its units, and how that order is known.

    `order` is "units" where told places of units give it, "bend" where the bend of the arch
    does, "" where nothing tells which end is which. `because` says why there are no joints.
    """

    joints: tuple[Joint, ...]
    line: BridgeLine | None
    order: str
    because: str = ""

    @property
    def upright(self) -> np.ndarray | None:
        """A direction along which the units are high, up or down; None where nothing tells."""
        if self.line is None or self.line.bend_mm < LEAST_BEND_MM:
            return None
        return _unit(np.cross(self.line.points[-1] - self.line.points[0], self.line.bend))


def bridge_of(
    vertices: np.ndarray,
    faces: np.ndarray,
    sites: tuple[str, ...],
    units: dict[str, np.ndarray | Pose] | None = None,
    occlusal: np.ndarray | None = None,
) -> Bridge:
    """Return the joints of a bridge with units at `sites`, in their order along the arch.

    `units` tells of any of the units where it stands: a point (3,) in the mesh's frame, or the
    pose of the implant beneath. `occlusal` (3,) points from the gums to the opposing jaw; by it
    and the bend of the arch, left is known from right if no units are told.
    """
    if len(sites) < 2:
        return Bridge((), None, "", "A part with one unit has no connector.")
    units = {site: at for site, at in (units or {}).items() if site in sites}
    occlusal = _unit(occlusal)
    cuts = Sections(vertices, faces)
    line = bridge_line(cuts.vertices, cuts.faces, cuts, occlusal)
    if line is None:
        return Bridge((), None, "", "The mesh shows no body.")
    for site, at in units.items():
        away = line.distance_mm(*_at(at))
        if away > FARTHEST_MM:
            return Bridge((), line, "", f"The bridge lies {away:.0f} mm beside {site}.")
    line, order = _ordered(line, sites, units, occlusal)
    places, because = _places(line, sites, units)
    if because:
        return Bridge((), line, order, because)
    joints = []
    for k, at in enumerate(places):
        section = _least_section(cuts, line, at, occlusal)
        joints.append(Joint((sites[k], sites[k + 1]), section, line.tangents[at]))
    return Bridge(tuple(joints), line, order)


def units_of(points: np.ndarray, bridge: Bridge, sites: tuple[str, ...]) -> np.ndarray:
    """Return for points (k, 3) the index in `sites` of the unit to which they belong.

    A point belongs to the unit in whose stretch of the line its nearest place lies; near a
    joint the plane of its smallest section decides.
    """
    line = bridge.line.points
    middles = np.array([bridge.line.nearest(joint.place_mm) for joint in bridge.joints])
    near = cKDTree(line).query(points)[1]
    unit = np.searchsorted(middles, near, side="right")
    for k, joint in enumerate(bridge.joints):
        is_beside = (unit == k) | (unit == k + 1)
        normal = joint.section.normal
        side = (points[is_beside] - joint.place_mm) @ normal * np.sign(normal @ joint.along)
        unit[is_beside] = np.where(side >= 0, k + 1, k)
    return unit


def along_the_arch(site: str) -> int:
    """Return the place of a tooth along its arch, from the patient's right (ISO 3950)."""
    quadrant, position = int(site[0]), int(site[1])
    return -position if quadrant in (1, 4, 5, 8) else position


def _unit(direction):
    if direction is None:
        return None
    direction = np.asarray(direction, float)
    return direction / np.linalg.norm(direction)


def _ordered(line, sites, units, occlusal):
    """The line from the first site to the last, and how that is known."""
    known = [
        (k, line.nearest(*_at(units[site]))) for k, site in enumerate(sites) if site in units
    ]
    share = 0.0
    if len(known) >= 2:
        index, at = np.array(known, float).T
        share = np.sum((index - index.mean()) * (at - at.mean()))
    elif len(known) == 1:
        # One unit near an end tells which end it is.
        index, at = known[0]
        share = (index - (len(sites) - 1) / 2) * (at - (len(line.points) - 1) / 2)
        share = share if abs(at / (len(line.points) - 1) - 0.5) > 0.1 else 0.0
    if share != 0.0:
        return (line if share > 0 else _reversed(line)), "units"
    if occlusal is not None and line.bend_mm > LEAST_BEND_MM:
        # Seen from the front, the bend points outwards; right to left is up x out.
        is_lower = sites[0][0] in "3478"
        leftward = np.cross(occlusal if is_lower else -occlusal, line.bend)
        runs_left = (line.points[-1] - line.points[0]) @ leftward > 0
        wants_left = along_the_arch(sites[-1]) > along_the_arch(sites[0])
        return (line if runs_left == wants_left else _reversed(line)), "bend"
    return line, ""


def _reversed(line):
    return BridgeLine(line.points[::-1], -line.tangents[::-1], line.hulls[::-1])


def _at(unit):
    """The place of a unit, and the axis along which it is not known."""
    return (unit.origin_mm, unit.axis) if isinstance(unit, Pose) else (unit, None)


def _places(line, sites, units):
    """Where on the line the joints are, one between each two units; why not."""
    found, clear = line.narrowings()
    known = [(0, 0)] if sites[0] not in units else []
    known += [
        (k, line.nearest(*_at(units[one]))) for k, one in enumerate(sites) if one in units
    ]
    if sites[-1] not in units:
        known.append((len(sites) - 1, len(line.points) - 1))
    places = []
    for (a, low), (b, high) in zip(known, known[1:], strict=False):
        if b == a:
            continue
        if high <= low:
            return [], f"Along the bridge, {sites[b]} does not come after {sites[a]}."
        within = np.flatnonzero((found > low) & (found < high))
        if len(within) < b - a:
            return [], (
                f"Between {sites[a]} and {sites[b]} the form shows {len(within)} narrow "
                f"places where {b - a} joints are expected."
            )
        best = within[np.argsort(-clear[within], kind="stable")]
        if len(best) > b - a and clear[best[b - a]] > DOUBTFUL * clear[best[b - a - 1]]:
            return [], (
                f"Between {sites[a]} and {sites[b]} the form shows {len(within)} narrow "
                f"places where {b - a} joints are expected, and which of them they are is "
                "not clear."
            )
        places += sorted(found[best[: b - a]].tolist())
    return places, ""


def _least_section(cuts, line, at, occlusal):
    """Move and tilt the plane until it cuts least."""
    place, normal = line.points[at], line.tangents[at]
    low, high = _room(line, at)
    up = occlusal if occlusal is not None else np.eye(3)[np.argmin(np.abs(normal))]
    first = up - (up @ normal) * normal
    first = first / np.linalg.norm(first)
    second = np.cross(normal, first)
    slope = np.tan(np.radians(TILT_DEG))
    near = cuts.within(place, normal, max(-low, high), TILT_DEG)

    def section(plane):
        offset, a, b = plane
        origin = place + np.clip(offset, low, high) * normal
        size = max(np.hypot(a, b), 1.0)
        tilted = normal + slope * (a * first + b * second) / size
        return near.cut(origin, tilted, occlusal).near(origin, REACH_MM)

    def area(plane):
        beyond = max(low - plane[0], plane[0] - high, 0.0)
        beyond += max(np.hypot(plane[1], plane[2]) - 1.0, 0.0)
        return section(plane).area_mm2 * (1 + beyond + MIDDLE * plane[0] ** 2)

    offsets = np.linspace(low, high, OFFSETS)
    coarse = [(s, a, b) for s in offsets for a in TILTS for b in TILTS]
    sizes = [area(plane) for plane in coarse]
    best, least = (0.0, 0.0, 0.0), area((0.0, 0.0, 0.0))
    for k in np.argsort(sizes, kind="stable")[:STARTS]:
        found = minimize(
            area,
            coarse[k],
            method="Nelder-Mead",
            options={
                "xatol": PLANE_TOLERANCE,
                "fatol": AREA_TOLERANCE_MM2,
                "maxfev": 250,
                "initial_simplex": np.array(coarse[k])
                + [[0, 0, 0], [0.3, 0, 0], [0, 0.3, 0], [0, 0, 0.3]],
            },
        )
        # Along a bar all sections are alike: stay in the middle unless it is really smaller.
        if found.fun < least - AREA_TOLERANCE_MM2 * 10:
            best, least = found.x, found.fun
    return section(best)


def _room(line, at):
    """How far the plane may go to both sides: while the hull stays near that of the joint."""
    room = []
    for step in (-1, 1):
        hull = line.hulls[at]
        k, most = at, hull
        # Up to the unit beside, which is where the hull falls again.
        while 0 <= k < len(line.hulls) and line.hulls[k] >= 0.8 * most:
            most = max(most, line.hulls[k])
            k += step
        bound, k = hull + ROOM * (most - hull), at
        while 0 <= k + step < len(line.hulls) and line.hulls[k + step] <= bound:
            k += step
        room.append(step * np.clip(abs(k - at) * STEP_MM, LEAST_ROOM_MM, MOST_ROOM_MM))
    return tuple(room)
