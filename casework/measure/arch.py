"""Which way is mesial, outward and occlusal at a site, and what are these sides called there?

No axis of a file means anything. The occlusal direction is that across the plane on which the
highest places of the scan lie. The arch runs through the middle of what stands just below this
plane; its hollow side is that of the tongue. Which way along it is mesial follows from the
quadrant of the site. Where a short stretch is as good as straight, two sites tell it, or the
sides are not known.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from casework.measure.surfaces.clouds import strewn
from casework.measure.surfaces.normals import face_areas, face_normals
from casework.measure.surfaces.poses import Pose

POINTS = 20_000  # that stand for the scan
CELL_MM = 2.5  # of each the highest place is taken
TOP_BAND_MM = 2.5  # of these, those so far below the highest are cusps and edges
CROWN_BAND_MM = 5.0  # below the occlusal plane: crowns, but neither palate nor floor
EDGE_BAND_MM = 2.0  # biting edges and cusps alone, for the middle of the arch
FEWEST = 100  # points that tell a course
AROUND_MM = 14.0  # the course of the arch at a site is that of so much around it, or more:
NEAREST_SHARE = 0.15  # of the crowns
TEETH = 14
BREADTH_MM, PLACES = 3.0, 6  # of the crowns about the middle of the arch; independent teeth
BEND_MM = 50.0  # half the least radius of an arch along its sides
SCAN_BODY_MM = 3.5  # around an axis: a scan body may stand there and is no tooth
WIDE_MM = 10.0  # standard deviation of the plan of a scan that spans a whole arch
HOLLOW_MM = 0.5  # how far from the tangent the middle of an arch must lie to tell the sides
CUSP_MM = 0.7  # spread of the heights of cusps and edges about their plane
CUSPS = 10  # that count as independent
PRIOR_RAD = 0.14  # how far implants stand from the occlusal direction: 8 degrees
ROUNDS = 4
FRONT = "123"  # places from the midline; behind them a tooth has an occlusal surface
STEEP_COSINE = np.sqrt(0.5)  # within 45 degrees of the occlusal direction


@dataclass(frozen=True, eq=False)
class ArchFrame:
    """Directions at a site, unit vectors (3,) at right angles to each other.

    occlusal: from the gums toward the opposing jaw. outward: to lip or cheek. distal: along the
    arch, away from the midline. Where `because` is not empty, it says why outward and distal
    may be exchanged with their opposites. middle_mm (3,): the arch's middle beside the site, at
    the height of the occlusal plane.
    """

    site: str
    occlusal: np.ndarray
    outward: np.ndarray
    distal: np.ndarray
    middle_mm: np.ndarray
    because: str = ""

    @property
    def is_front(self) -> bool:
        return self.site[1:] in FRONT

    @property
    def has_sides(self) -> bool:
        return not self.because

    @property
    def biting(self) -> str:
        return "incisal" if self.is_front else "occlusal"

    @property
    def outer(self) -> str:
        return "labial" if self.is_front else "buccal"

    @property
    def inner(self) -> str:
        return "palatal" if self.site[0] in "12" else "lingual"

    def sides(self) -> dict[str, np.ndarray]:
        """Return the unit direction of each side by its word; empty where not known."""
        if not self.has_sides:
            return {}
        return {
            self.outer: self.outward,
            self.inner: -self.outward,
            "mesial": -self.distal,
            "distal": self.distal,
            self.biting: self.occlusal,
        }

    def region_of(self, direction: np.ndarray) -> str:
        """Return the word for the side toward which a direction (3,) points most.

        Within 45 degrees of the occlusal direction it is "occlusal" or "incisal", then "buccal"
        or "labial", "palatal" or "lingual", "mesial", "distal"; empty where not known.
        """
        length = np.linalg.norm(direction)
        if length > 0 and direction @ self.occlusal >= STEEP_COSINE * length:
            return self.biting
        sides = self.sides()
        sides.pop(self.biting, None)
        return max(sides, key=lambda word: direction @ sides[word], default="")

    def leans_deg(self, axis: np.ndarray) -> tuple[float, float]:
        """Return by how many degrees an axis (3,) leans outward and distally."""
        up = axis @ self.occlusal
        angles = np.arctan2([axis @ self.outward, axis @ self.distal], up)
        return float(np.degrees(angles[0])), float(np.degrees(angles[1]))


def arch_frame(
    scan_vertices: np.ndarray,
    faces: np.ndarray,
    site: str,
    pose: Pose,
    poses: Mapping[str, Pose] | None = None,
) -> ArchFrame | None:
    """Return the directions at a site in ISO 3950, from a scan of its jaw; None without one.

    Vertices (m, 3), faces (n, 3); `pose` of the implant, or any place at the site with an axis
    roughly toward the opposing jaw. `poses` of all implants by site make it surer. On synthetic
    scans the directions are right within 3 degrees on a whole arch, within 7 on a stretch of
    one, the middle within 1.5 mm.
    """
    everywhere = {**(poses or {}), site: pose}
    areas = face_areas(scan_vertices, faces)
    points = strewn(scan_vertices, faces, areas, POINTS)[0]
    if len(points) < FEWEST:
        return None
    points = points[_is_off_bodies(points, everywhere.values())]
    if len(points) < FEWEST:
        return None
    axes = np.mean([one.axis for one in everywhere.values()], axis=0)
    start = _start(scan_vertices, faces, areas, points, axes / np.linalg.norm(axes))
    occlusal, level = _occlusal(points, start)
    return _beside(points, occlusal, level, site, everywhere)


def _is_off_bodies(points, poses):
    off = np.ones(len(points), bool)
    for pose in poses:
        local = pose.to_local(points)
        off &= (np.hypot(local[:, 0], local[:, 1]) > SCAN_BODY_MM) | (local[:, 2] < 0)
    return off


def _start(vertices, faces, areas, points, axis):
    """The axes of the implants; for an open scan of a whole arch, the way its opening looks.

    The sum of area times normal depends on the border alone: of a scan trimmed about level it
    is the occlusal direction, of a closed model zero.
    """
    if np.sqrt(np.linalg.eigvalsh(np.cov(points.T))[1]) < WIDE_MM:
        return axis
    total = areas @ face_normals(vertices, faces)
    length = np.linalg.norm(total)
    if length < 0.2 * areas.sum() or total @ axis < 0.9 * length:
        return axis
    return total / length


def _occlusal(points, start):
    """The direction across the plane of the highest places, and the plane's height along it.

    Least squares with the start as a prior: a short stretch has cusps too close together
    across the arch to tell the tilt to the side.
    """
    up = start
    for _ in range(ROUNDS):
        rotation = Pose.of(np.zeros(3), up).rigid.rotation
        local = points @ rotation
        top = _tops(local)
        plan, height = top[:, :2] - top[:, :2].mean(axis=0), top[:, 2] - top[:, 2].mean()
        lean = start @ rotation
        prior = -lean[:2] / lean[2]  # slope of the plane across the start
        scale = CUSPS / len(top) / CUSP_MM**2
        left = scale * plan.T @ plan + np.eye(2) / PRIOR_RAD**2
        slope = np.linalg.solve(left, scale * plan.T @ height + prior / PRIOR_RAD**2)
        up = rotation @ np.array([-slope[0], -slope[1], 1.0])
        up /= np.linalg.norm(up)
    top = _tops(points @ Pose.of(np.zeros(3), up).rigid.rotation)
    return up, float(np.median(top[:, 2]))


def _tops(local):
    """The highest place of each cell, of those near the highest of all."""
    cells = np.floor(local[:, :2] / CELL_MM).astype(np.int64)
    _, cell = np.unique(cells, axis=0, return_inverse=True)
    order = np.lexsort((-local[:, 2], cell))
    first = np.append(True, cell[order][1:] != cell[order][:-1])
    top = local[order[first]]
    return top[top[:, 2] > np.quantile(top[:, 2], 0.9) - TOP_BAND_MM]


def _beside(points, occlusal, level, site, poses):
    """The frame at the site, from what stands below the occlusal plane."""
    flat = Pose.of(np.zeros(3), occlusal)
    local = flat.to_local(points)
    crowns = local[local[:, 2] > level - CROWN_BAND_MM, :2]
    places = {name: flat.to_local(one.origin_mm[None])[0, :2] for name, one in poses.items()}
    here = places[site]
    along, across, middle = _course(crowns, np.array(list(places.values())), here)
    hollow = (crowns.mean(axis=0) - middle) @ across
    outward = -np.sign(hollow) * across
    because = ""
    told = _outward_of_sites(site, places, along, across)
    if told is not None:
        outward = told
    elif abs(hollow) < HOLLOW_MM:
        because = (
            f"The scan is as good as straight around ISO {site}, so it does not tell the side"
            " of the cheek from that of the tongue."
        )
    edges = local[local[:, 2] > level - EDGE_BAND_MM, :2]
    if (np.linalg.norm(edges - here, axis=1) < AROUND_MM).sum() > FEWEST:
        aside = (_course(edges, np.zeros((0, 2)), here)[2] - middle) @ across
        middle = middle + aside * across
    whole = flat.to_world(np.array([[*outward, 0.0], [*middle, level]]))
    return ArchFrame(
        site, occlusal, whole[0], _distal(site, whole[0], occlusal), whole[1], because
    )


def _course(crowns, implants, here):
    """Tangent, the direction across and the middle of the arch beside a place, in the plan.

    A parabola through what stands around, the nearer the more; one end of an arch alone would
    leave its bend open, so that a bend is a little unlikely from the start.
    """
    away = np.linalg.norm(crowns - here, axis=1)
    width = max(AROUND_MM, np.quantile(away, NEAREST_SHARE))
    # An implant stands for the tooth that is missing there.
    places = np.vstack([crowns, implants])
    weight = np.append(np.ones(len(crowns)), np.full(len(implants), len(crowns) / TEETH))
    weight *= np.exp(-((np.linalg.norm(places - here, axis=1) / width) ** 2))
    weight /= weight.sum()
    off = places - weight @ places
    along = np.linalg.eigh((off * weight[:, None]).T @ off)[1][:, -1]
    across = np.array([-along[1], along[0]])
    u, v = (places - here) @ along, (places - here) @ across
    terms = np.stack([np.ones_like(u), u, u * u], axis=1)
    left = (terms * weight[:, None]).T @ terms / BREADTH_MM**2
    left[2, 2] += BEND_MM**2 / PLACES
    offset, slope, _ = np.linalg.solve(left, (terms * weight[:, None]).T @ v / BREADTH_MM**2)
    tangent = along + slope * across
    tangent /= np.linalg.norm(tangent)
    return tangent, np.array([-tangent[1], tangent[0]]), here + offset * across


def _distal(site, outward, occlusal):
    """Distal by the quadrant: looked at from the opposing jaw, the arch runs on to one side.

    In the upper right and the lower left quadrant mesial is outward x occlusal.
    """
    mesial = np.cross(outward, occlusal)
    return -mesial if site[0] in "1357" else mesial


def _outward_of_sites(site, places, along, across):
    """Outward by the way from this site to another of its jaw; None where there is none."""
    order = {"1": 1, "4": 1, "2": -1, "3": -1}

    def place(name):  # along the arch, from the patient's left to the right
        return order[name[0]] * (int(name[1]) - 0.5)

    others = [name for name in places if name != site and name[0] in order]
    if site[0] not in order or not others:
        return None
    other = max(others, key=lambda name: abs(place(name) - place(site)))
    way = (places[other] - places[site]) @ along
    if abs(way) < HOLLOW_MM:
        return None
    is_distal = abs(place(other)) > abs(place(site)) and other[0] == site[0]
    distal = along if (way > 0) == is_distal else -along
    # (outward, occlusal) as in `_distal`: distal = ±occlusal x outward in the plan.
    turned = np.array([distal[1], -distal[0]])
    return turned if site[0] in "13" else -turned
