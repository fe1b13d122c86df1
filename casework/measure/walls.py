"""How thick are the walls of a retainer, a crown and an abutment, and where are they least?

A wall is the *nearest distance* from the inner surface to the outer one: the shortest way
through the material, the safe definition. The way along the normal of the inner surface is
never shorter; it stands in the details. At the margin and at the rim of a channel a part ends
in an edge on purpose: what lies within `RIM_MM` of the margin line is left out, the next
`RIM_MM` are the region "margin", and the walls of a channel are no inner surface here.
"""

import numpy as np
from scipy.spatial import cKDTree

from casework.measure.post_axis import bore_of
from casework.measure.post_reading import BORE, EMERGENCE, SHOULDER, TOP, WALL
from casework.measure.posts import Post
from casework.measure.results import Measured, Quantity
from casework.measure.retainers import OUTER, Restoration
from casework.measure.surfaces.nearest import Nearest
from casework.measure.surfaces.normals import face_areas, vertex_normals
from casework.measure.surfaces.pieces import main_pieces
from casework.measure.surfaces.places import places_on
from casework.measure.surfaces.poses import Pose
from casework.measure.surfaces.rays import BACK, first_hits
from casework.measure.surfaces.smoothing import smoothed
from casework.measure.surfaces.thickness import least_local, least_of_groups, local_thickness

RIM_MM = 0.5
REACH_MM = 3.0  # of thicker walls just that is told: no material asks for more than 2 mm
OPPOSING_REACH_MM = 12.0
CONNECTION_MM = 0.3  # up to here above the platform the connection's fillet may reach
COARSE_MM = 0.4  # between the places at which a whole part is asked
EXACT_MM = 0.001  # of the least distance between the two surfaces as they are given
MARGIN = "margin"
BITING = ("occlusal", "incisal")
LINE_STEPS = 8  # points along a piece of a line

WALL_THICKNESS = Quantity(
    "wall_thickness", "Least wall of the retainer", "mm",
    "nearest distance from the intaglio to the outer surface, margin rim left out",
)  # fmt: skip
CERAMIC_ROOM = Quantity(
    "ceramic_room", "Room for the restoration over the abutment", "mm",
    "nearest distance from the abutment to the outer surface of the restoration",
)  # fmt: skip
OPPOSING_ROOM = Quantity(
    "opposing_room", "Room from the abutment to the opposing jaw", "mm",
    "nearest distance from the abutment above its margin to the opposing scan",
)  # fmt: skip
LOCAL_THICKNESS = Quantity(
    "local_thickness", "Least thickness of the part", "mm",
    "chord of the largest ball that touches the surface from within; edges left out",
)  # fmt: skip
QUANTITIES = (WALL_THICKNESS, CERAMIC_ROOM, OPPOSING_ROOM, LOCAL_THICKNESS)


def regions_of(directions: np.ndarray, axis: np.ndarray, sides=None):
    """Return of each direction (k, 3) the number of its region, and the regions' names.

    `sides` names unit directions, as `ArchFrame.sides` does: {"buccal": (3,), "lingual": …,
    "mesial": …, "distal": …, "occlusal": …}. Within 45 degrees of the biting side it is that,
    else the side it points to most. Without them a direction within 45 degrees of the axis
    (3,) is "upper", the others "axial".
    """
    steep = np.sqrt(0.5) * np.linalg.norm(directions, axis=1)
    if not sides:
        return (directions @ axis < steep).astype(int), ("upper", "axial")
    names = tuple(sides)
    along = directions @ np.stack([sides[one] for one in names]).T
    is_biting = np.isin(names, BITING)
    region = np.argmax(np.where(is_biting, -np.inf, along), axis=1)
    up = np.argmax(np.where(is_biting, along, -np.inf), axis=1)
    is_up = is_biting[up] & (along.max(axis=1, where=is_biting, initial=-np.inf) >= steep)
    return np.where(is_up, up, region), names


def retainer_walls(whole: Restoration, site: str, sides=None) -> list[Measured]:
    """Return the least wall of the retainer at a site, whole and by region.

    The region is that toward which the wall is passed the shortest way. The first value has no
    region and leaves out the region "margin"; the others name theirs in `details["region"]`.
    """
    retainer = whole.retainers[site]
    if not retainer.is_found:
        return [WALL_THICKNESS.not_known(site, retainer.because)]
    outer = _outer_of(whole, site, REACH_MM)
    places = places_on(whole.nearest, retainer.intaglio)
    rim = _Line(retainer.edge_mm)
    directions = (retainer.post.pose.axis, sides)
    return _by_region(WALL_THICKNESS, site, places, directions, rim, outer, whole)


def ceramic_room(whole: Restoration, site: str, sides=None) -> list[Measured]:
    """Return the least room over the abutment at a site for its restoration, by region."""
    retainer = whole.retainers[site]
    if not retainer.is_found:
        return [CERAMIC_ROOM.not_known(site, retainer.because)]
    post = retainer.post
    places = places_on(post.nearest, post.faces_of(WALL, TOP))
    rim = _Line(_pairs(post))
    outer = _outer_of(whole, site, REACH_MM)
    return _by_region(CERAMIC_ROOM, site, places, (post.pose.axis, sides), rim, outer)


def opposing_room(post: Post, site: str, vertices, faces) -> Measured:
    """Return the least room between an abutment and a scan of the opposing jaw.

    The scan is smoothed lightly and its small pieces are left out; what it gives raw stands in
    the details.
    """
    if not post.has_wall:
        return OPPOSING_ROOM.not_known(site, post.because)
    vertices, faces, dropped = main_pieces(vertices, faces)
    above = np.unique(post.nearest.faces[post.faces_of(WALL, TOP)])
    reach = post.nearest.vertices[above]
    near = (
        np.abs(vertices - reach.mean(axis=0)).max(axis=1)
        < OPPOSING_REACH_MM + np.ptp(reach, axis=0).max()
    )
    faces = faces[near[faces].all(axis=1)]
    if not len(faces):
        return OPPOSING_ROOM.not_known(
            site, f"The opposing jaw does not come within {OPPOSING_REACH_MM:g} mm."
        )
    places = places_on(post.nearest, post.faces_of(WALL, TOP))
    least = []
    for points in (vertices, smoothed(vertices, faces)):
        surface = Nearest(points, faces, OPPOSING_REACH_MM)
        least.append(least_of_groups(places, _one_group, surface, 1))
    (raw, _, _), (value, place, other) = least
    if not np.isfinite(value[0]):
        return OPPOSING_ROOM.not_known(
            site, f"The opposing jaw does not come within {OPPOSING_REACH_MM:g} mm."
        )
    return OPPOSING_ROOM.of(
        site, value[0], other[0], abs(value[0] - raw[0]),
        raw_mm=raw[0], on_abutment_mm=place[0], dropped_piece_count=len(dropped),
    )  # fmt: skip


def abutment_walls(post: Post, site: str, sides=None) -> list[Measured]:
    """Return the least local thickness of an abutment, by region; see `part_walls`."""
    if not post.has_wall:
        return [LOCAL_THICKNESS.not_known(site, post.because)]
    surface = Nearest(post.nearest.vertices, post.nearest.faces, REACH_MM / 2)
    places = places_on(surface, post.faces_of(EMERGENCE, SHOULDER, WALL, TOP), COARSE_MM)
    is_left_out = _Line(_pairs(post)).away(places.point_mm) < RIM_MM
    return _local_by_region(
        site, places, post.part == BORE, post.pose.axis, sides, post.implant, is_left_out
    )


def part_walls(
    vertices: np.ndarray,
    faces: np.ndarray,
    subject: str,
    axis: np.ndarray,
    sides=None,
    implant: Pose | None = None,
) -> list[Measured]:
    """Return the least local thickness of a part without an abutment, whole and by region.

    For a screw-retained crown: asked on its outer surface, to whatever lies opposite, its
    channel or its other side. `axis` (3,) points to the crown. What reaches below the platform
    of an implant, if that is given, is its connection and left out.
    """
    if not len(faces):
        return [LOCAL_THICKNESS.not_known(subject, "The mesh holds no surface.")]
    surface = Nearest(vertices, faces, REACH_MM / 2)
    inner = bore_of(surface, face_areas(surface.vertices, surface.faces))
    places = places_on(surface, np.flatnonzero(~inner), COARSE_MM)
    is_left_out = np.zeros(len(places.face), bool)
    return _local_by_region(subject, places, inner, axis, sides, implant, is_left_out)


def wall_field(whole: Restoration) -> np.ndarray:
    """Return of each vertex (m,) its nearest distance to the other side of the wall, in mm.

    From the intaglio to the outer surface, from the outer surface to the intaglio; nan on
    channels, on the seat and where the wall is thicker than the reach.
    """
    field = np.full(len(whole.nearest.vertices), np.nan)
    outer, inner = (
        whole.faces_of(OUTER),
        np.concatenate([np.zeros(0, int), *(one.intaglio for one in whole.retainers.values())]),
    )
    for asked, other in ((outer, inner), (inner, outer)):
        surface = Nearest(whole.nearest.vertices, whole.nearest.faces[other], REACH_MM / 2)
        mine = np.unique(whole.nearest.faces[asked])
        found = surface.closest(whole.nearest.vertices[mine])
        field[mine] = np.where(found.is_found, found.distance_mm, np.nan)
    return field


def room_field(whole: Restoration, site: str) -> np.ndarray:
    """Return of each vertex (m,) of the abutment at a site the room over it, in mm.

    For a retainer that is found: the nearest distance to the outer surface of the restoration;
    nan below the margin, in the bore, and where the room is more than the reach.
    """
    post = whole.retainers[site].post
    field = np.full(len(post.nearest.vertices), np.nan)
    mine = np.unique(post.nearest.faces[post.faces_of(WALL, TOP)])
    found = _outer_of(whole, site, REACH_MM).closest(post.nearest.vertices[mine])
    field[mine] = np.where(found.is_found, found.distance_mm, np.nan)
    return field


def thickness_field(vertices: np.ndarray, faces: np.ndarray) -> np.ndarray:
    """Return the local thickness at each vertex (m,) in mm; nan at edges and beyond 3 mm."""
    nearest = Nearest(vertices, faces, REACH_MM / 2)
    normals = vertex_normals(nearest.vertices, nearest.faces)
    return local_thickness(nearest, nearest.vertices, normals, REACH_MM)[0]


def _outer_of(whole, site, reach_mm):
    """The outer surface of a restoration near one of its retainers."""
    outer = whole.faces_of(OUTER)
    middle = whole.middles[whole.retainers[site].intaglio]
    low, high = middle.min(axis=0) - reach_mm, middle.max(axis=0) + reach_mm
    corners = whole.nearest.vertices[whole.nearest.faces[outer]]
    near = ((corners.max(axis=1) > low) & (corners.min(axis=1) < high)).all(axis=1)
    return Nearest(whole.nearest.vertices, whole.nearest.faces[outer[near]], reach_mm)


def _pairs(post):
    """The pieces (k, 2, 3) of the margin of a post, none where it is not known."""
    if post.margin_mm is None:
        return np.zeros((0, 2, 3))
    return np.stack([post.margin_mm, np.roll(post.margin_mm, -1, axis=0)], axis=1)


class _Line:
    """A line of pieces (k, 2, 3), ready to be asked how far points are from it."""

    def __init__(self, pieces):
        steps = np.linspace(0, 1, LINE_STEPS)[:, None]
        dense = pieces[:, None, 0] * (1 - steps) + pieces[:, None, 1] * steps
        self._tree = cKDTree(dense.reshape(-1, 3)) if len(pieces) else None

    def away(self, points):
        """Distances (k,), to about 0.02 mm; inf beyond what matters at a rim."""
        if self._tree is None:
            return np.full(len(points), np.inf)
        return self._tree.query(points, distance_upper_bound=2 * RIM_MM)[0]


def _one_group(found):
    return np.zeros(len(found.points), int)


def _by_region(quantity, site, places, directions, rim, surface, whole=None):
    """The least distance of places to a surface, by region and for all but the margin.

    With a whole restoration also the way along the normal through it.
    """
    names = (*regions_of(np.zeros((0, 3)), *directions)[1], MARGIN)

    def group_of(found):
        through = found.point_mm - found.points
        group = regions_of(through, *directions)[0]
        away = rim.away(found.points)
        group = np.where(away < 2 * RIM_MM, len(names) - 1, group)
        return np.where((away < RIM_MM) | ~found.is_found, -1, group)

    least, place, other = least_of_groups(places, group_of, surface, len(names))
    is_open = ~np.isfinite(least)
    way = places.normal if whole is None else -places.normal  # into the wall
    thicker = _thicker(places, way, directions, rim, surface, is_open)
    found = []
    for one in np.argsort(least, kind="stable"):
        if not np.isfinite(least[one]):
            found.append(_beyond(quantity, site, names[one], one in thicker, surface.reach_mm))
            continue
        details = {"region": names[one], "other_side_mm": other[one]}
        if whole is not None:
            near = np.argmin(((places.point_mm - place[one]) ** 2).sum(axis=1))
            details["along_normal_mm"] = _along(whole, place[one], places.normal[near])
        found.append(quantity.of(site, least[one], place[one], EXACT_MM, **details))
    known = [one for one in found if one.is_known and one.details["region"] != MARGIN]
    if not known:
        because = "Nothing of its inner surface but the margin rim looks through a wall."
        return [quantity.not_known(site, because), *found]
    return [_whole(quantity, known[0]), *found]


def _beyond(quantity, subject, region, is_thicker, reach_mm):
    """What is said of a region in which nothing lies within reach."""
    if is_thicker:
        return quantity.at_least(subject, reach_mm, region=region)
    because = "No wall of it was found that way."
    return quantity.not_known(subject, because, region=region)


def _thicker(places, way, directions, rim, surface, is_open):
    """Those open regions toward which a way from some place meets nothing within reach."""
    if not is_open.any():
        return set()
    toward = regions_of(way, *directions)[0]
    away = rim.away(places.point_mm)
    toward[away < 2 * RIM_MM] = len(is_open) - 1
    asked = np.flatnonzero((away >= RIM_MM) & is_open[toward])
    _, met = first_hits(surface, places.point_mm[asked], way[asked], BACK, surface.reach_mm)
    return set(toward[asked[met < 0]].tolist())


def _along(whole, place, normal):
    """The way from a place of the inner surface through the material along its normal."""
    away, _ = first_hits(whole.nearest, place[None], -normal[None], BACK, 2 * REACH_MM)
    return float(away[0]) if np.isfinite(away[0]) else None


def _local_by_region(subject, places, inner, axis, sides, implant, is_left_out):
    """The least local thickness over places, whole and by region."""
    group, names = regions_of(places.normal, axis, sides)
    if implant is not None:
        height = (places.point_mm - implant.origin_mm) @ implant.axis
        is_left_out = is_left_out | (height < CONNECTION_MM)
    group[is_left_out] = -1
    least, place, other, face, is_thicker = least_local(places, group, REACH_MM, len(names))
    found = []
    for one in np.argsort(least, kind="stable"):
        if np.isfinite(least[one]):
            side = "channel" if inner[face[one]] else "outer surface"
            found.append(
                LOCAL_THICKNESS.of(
                    subject, least[one], place[one], None, region=names[one],
                    other_side_mm=other[one], other_side=side,
                )
            )  # fmt: skip
        elif is_thicker[one]:
            found.append(LOCAL_THICKNESS.at_least(subject, REACH_MM, region=names[one]))
        elif (group == one).any():
            because = "It ends in edges there and has no opposite side."
            found.append(LOCAL_THICKNESS.not_known(subject, because, region=names[one]))
    known = [one for one in found if one.is_known]
    if not known:
        because = "It has no two opposite sides."
        return [LOCAL_THICKNESS.not_known(subject, because), *found]
    return [_whole(LOCAL_THICKNESS, known[0]), *found]


def _whole(quantity, least):
    """The value of a part as a whole, from the least of its regions."""
    details = {**least.details, "region": "", "least_in": least.details["region"]}
    return quantity.of(least.subject, least.value, least.place_mm, least.uncertainty, **details)
