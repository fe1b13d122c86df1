"""How do implants and abutments stand to each other: distance, divergence, path of insertion?

The draft of a place on a post's wall is the angle between the wall there and the path of
insertion, negative where the wall overhangs. The common path is the direction that makes the
least draft of all posts as great as it can be. The normals of a mesh tremble; the draft is
therefore taken from the mean normals of patches, which of a cone is exact.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from scipy.optimize import linprog

from casework.measure.results import Measured, Quantity
from casework.measure.surfaces.half_planes import sections_around
from casework.measure.surfaces.normals import face_areas, face_normals
from casework.measure.surfaces.poses import Pose

TURNS, WINDOW = (
    1440,
    16,
)  # directions around a post, and how many to both sides a patch takes in
PATCH_MM = 1.0  # of the height
LEAST_WEIGHT = 0.05  # of the mean of all directions; a patch with less is a sliver
SECTORS = 60  # of a turn, for the taper
ROUNDS = 30  # of linear programmes; four are enough unless a post overhangs
REACH = 0.1  # how far one programme may tilt the path, tangent
STILL = 1e-9
HALF_PLANES = 180  # in which an overhang is looked for
LEVEL_MM = 0.02
# A radius that holds 95 % of equal normal errors in three and in two directions, in standard
# deviations (chi distribution; handbook of tables).
RADIUS_3D, RADIUS_2D, WIDTH = 2.7955, 2.4477, 1.96

DISTANCE = Quantity(
    "implant_distance", "Distance between the platforms", "mm",
    "between the centres of the platforms; doubt from the fits of the scan bodies",
)  # fmt: skip
DIVERGENCE = Quantity(
    "implant_divergence", "Angle between the implants", "deg",
    "between the axes; doubt from the fits of the scan bodies",
)  # fmt: skip
PATH_DRAFT = Quantity(
    "path_draft", "Least draft of all posts on their common path of insertion", "deg",
    "direction that maximises the least draft, by linear programmes on the tangent plane",
)  # fmt: skip
POST_DRAFT = Quantity(
    "post_draft", "Least draft of the post on the common path of insertion", "deg",
    "least over patches of the wall; negative where it overhangs",
)  # fmt: skip
UNDERCUT = Quantity(
    "path_undercut", "Depth of undercut against the common path of insertion", "mm",
    "farthest that the wall reaches out above a place, in half planes around the path",
)  # fmt: skip
PATH_ANGLE = Quantity(
    "path_angle", "Angle of the implant's axis to the common path of insertion", "deg",
    "between the axis and the common path",
)  # fmt: skip
TAPER = Quantity(
    "post_taper", "Total taper of the post", "deg",
    "mean sum of the drafts of opposite walls",
)  # fmt: skip
QUANTITIES = (DISTANCE, DIVERGENCE, PATH_DRAFT, POST_DRAFT, UNDERCUT, PATH_ANGLE, TAPER)


@dataclass(frozen=True, eq=False)
class Doubt:
    """Covariances of a pose: of its origin (3, 3) in mm², of a small turn (3, 3) in rad²."""

    shift: np.ndarray
    turn: np.ndarray

    @classmethod
    def of_95(cls, origin_mm: float, axis_deg: float) -> "Doubt":
        """Return the doubt equal in all directions whose radii hold 95 % of the errors."""
        turn = np.radians(axis_deg) / RADIUS_2D
        return cls(np.eye(3) * (origin_mm / RADIUS_3D) ** 2, np.eye(3) * turn**2)


def between_implants(
    poses: Mapping[str, Pose], doubts: Mapping[str, Doubt] | None = None
) -> list[Measured]:
    """Return distance and divergence of every two implants, in the order of `poses`."""
    doubts, sites, found = doubts or {}, list(poses), []
    for k, first in enumerate(sites):
        for second in sites[k + 1 :]:
            pair = poses[first], poses[second]
            known = [doubts.get(site) for site in (first, second)]
            unsure = None if None in known else known
            found += [_distance(f"{first}-{second}", pair, unsure)]
            found += [_divergence(f"{first}-{second}", pair, unsure)]
    return found


def _distance(subject, pair, doubts):
    way = pair[1].origin_mm - pair[0].origin_mm
    middle = (pair[0].origin_mm + pair[1].origin_mm) / 2
    length = float(np.linalg.norm(way))
    if not length > 0:
        return DISTANCE.not_known(subject, "Both implants are told at one place.")
    along, half = way / length, None
    if doubts:
        half = WIDTH * np.sqrt(along @ (doubts[0].shift + doubts[1].shift) @ along)
    across = way - (way @ pair[0].axis) * pair[0].axis
    return DISTANCE.of(subject, length, middle, half, across_first_mm=np.linalg.norm(across))


def _divergence(subject, pair, doubts):
    hinge = np.cross(pair[0].axis, pair[1].axis)
    sine = float(np.linalg.norm(hinge))
    angle = np.degrees(np.arctan2(sine, pair[0].axis @ pair[1].axis))
    half = None
    if doubts:
        turn = doubts[0].turn + doubts[1].turn
        if sine > STILL:
            variance = hinge @ turn @ hinge / sine**2
        else:  # parallel axes: the error may go any way across them
            variance = np.linalg.eigvalsh(turn)[-1]
        half = np.degrees(WIDTH * np.sqrt(variance))
    middle = (pair[0].origin_mm + pair[1].origin_mm) / 2
    return DIVERGENCE.of(subject, angle, middle, half)


@dataclass(frozen=True, eq=False)
class Wall:
    """The axial wall of a post: its faces, and the mean normals of patches of it.

    normals (k, 3): unit, of patches; areas (k,); places (k, 3). vertices (m, 3) and faces
    (n, 3) of the wall alone.
    """

    site: str
    vertices: np.ndarray
    faces: np.ndarray
    normals: np.ndarray
    areas: np.ndarray
    places: np.ndarray

    @classmethod
    def of(cls, site: str, vertices: np.ndarray, faces: np.ndarray) -> "Wall":
        """Return the wall of faces (n, 3); those that look toward the axis are left out."""
        vertices = np.asarray(vertices, np.float64)
        faces = np.asarray(faces, np.int32).reshape(-1, 3)
        if not face_areas(vertices, faces).sum() > 0:
            nothing = np.zeros((0, 3))
            return cls(site, vertices, faces[:0], nothing, np.zeros(0), nothing)
        faces = faces[_looks_out(vertices, faces)]
        return cls(site, vertices, faces, *_patches(vertices, faces))

    @property
    def own_path(self) -> np.ndarray:
        """The direction (3,) along which this post alone has the greatest least draft."""
        return _best_path([self.normals], _outward(self.normals, self.areas))


def _outward(normals, areas):
    """A direction along the axis of a tapered wall: across which its normals lie.

    The direction of least variance of the normals, toward the mean of them.
    """
    mean = areas @ normals / areas.sum()
    off = normals - mean
    axis = np.linalg.eigh((off * areas[:, None]).T @ off)[1][:, 0]
    return axis if axis @ mean >= 0 else -axis


def _looks_out(vertices, faces):
    """Does each face look away from the middle line of the wall?"""
    normals, areas = face_normals(vertices, faces), face_areas(vertices, faces)
    middles = vertices[faces].mean(axis=1)
    axis = _outward(normals, areas)
    off = middles - areas @ middles / areas.sum()
    off -= (off @ axis)[:, None] * axis
    return np.einsum("ij,ij->i", off, normals) > 0


def _patches(vertices, faces):
    """Mean normals, areas and middles of patches that lie closer than they are wide.

    Patches are stretches of the turn around the post and of its height, weighted toward their
    middle; so the mean normal follows the wall smoothly.
    """
    normals, areas = face_normals(vertices, faces), face_areas(vertices, faces)
    middles = vertices[faces].mean(axis=1)
    pose = Pose.of(areas @ middles / areas.sum(), _outward(normals, areas))
    local, turned = pose.to_local(middles), normals @ pose.rigid.rotation
    turn = np.floor((np.arctan2(turned[:, 1], turned[:, 0]) / np.pi + 1) * TURNS / 2)
    band = np.floor((local[:, 2] - local[:, 2].min()) / PATCH_MM)
    cell = band.astype(int) * TURNS + turn.astype(int) % TURNS
    sums = np.column_stack([areas, areas[:, None] * normals, areas[:, None] * middles])
    size = (int(band.max()) + 1) * TURNS
    sums = np.stack([np.bincount(cell, one, size) for one in sums.T], axis=1)
    sums = sums.reshape(-1, TURNS, sums.shape[1])
    away = np.minimum(np.arange(TURNS), TURNS - np.arange(TURNS))
    kernel = np.fft.rfft(np.maximum(1 - away / WINDOW, 0) / WINDOW)
    sums = np.fft.irfft(np.fft.rfft(sums, axis=1) * kernel[:, None], TURNS, axis=1)
    sums = sums.reshape(-1, sums.shape[2])
    sums = sums[sums[:, 0] > LEAST_WEIGHT * areas.sum() / TURNS]
    mean = sums[:, 1:4] / sums[:, :1]
    # A mean over a turn is too short across the axis; what it says along the axis is exact.
    along = mean @ pose.axis
    across = mean - along[:, None] * pose.axis
    across *= (np.sqrt(1 - along**2) / np.linalg.norm(across, axis=1))[:, None]
    return across + along[:, None] * pose.axis, sums[:, 0], sums[:, 4:7] / sums[:, :1]


def _best_path(groups: Sequence[np.ndarray], start: np.ndarray) -> np.ndarray:
    """The unit direction (3,) with the greatest least product with all normals.

    Around the direction reached, the sphere is replaced by its tangent plane and the best
    direction there found by a linear programme (HiGHS); tilts get shorter where one of them
    does not better the least.
    """
    normals, path, reach = np.vstack(groups), start, REACH
    least = float((normals @ path).min())
    for _ in range(ROUNDS):
        frame = Pose.of(np.zeros(3), path).rigid.rotation
        sides = normals @ frame
        # A tilt of that reach changes no product by more: others cannot become the least.
        sides = sides[sides[:, 2] < least + 3 * reach]
        solved = linprog(
            [0.0, 0.0, -1.0],
            A_ub=np.column_stack([-sides[:, 0], -sides[:, 1], np.ones(len(sides))]),
            b_ub=sides[:, 2],
            bounds=[(-reach, reach), (-reach, reach), (None, None)],
            method="highs",
        )
        if not solved.success:
            break
        tried = frame @ np.array([solved.x[0], solved.x[1], 1.0])
        tried /= np.linalg.norm(tried)
        gained = float((normals @ tried).min()) - least
        if gained > 0:
            path, least = tried, least + gained
        if gained < STILL and reach < 1e-6:
            break
        step = float(np.hypot(solved.x[0], solved.x[1]))
        reach = min(reach, 2 * step) if gained > STILL else reach / 30
    return path


def insertion_path(
    walls: Sequence[Wall], poses: Mapping[str, Pose] | None = None
) -> list[Measured]:
    """Return the common path of insertion of posts, and draft, undercut and angle of each.

    The first value is the least draft of all, its details hold the `direction` (coronal). Posts
    without any face are not known. `poses` of the implants give their angles to the path.
    """
    subject = "-".join(wall.site for wall in walls)
    empty = [wall.site for wall in walls if not len(wall.normals)]
    if empty or not walls:
        which = " and ".join(f"ISO {site}" for site in empty)
        because = f"No axial wall of the post at {which} is known, so no path can be found."
        return [PATH_DRAFT.not_known(subject, because)]
    starts = [_outward(wall.normals, wall.areas) for wall in walls]
    start = np.mean(starts, axis=0)
    path = _best_path([wall.normals for wall in walls], start / np.linalg.norm(start))
    drafts = [_draft(wall, path) for wall in walls]
    angle, place = min(drafts, key=lambda one: one[0])
    found = [PATH_DRAFT.of(subject, angle, place, direction=path.tolist())]
    for wall, (angle, place) in zip(walls, drafts, strict=True):
        depth, lowest = undercut(wall, path)
        found += [
            POST_DRAFT.of(wall.site, angle, place),
            UNDERCUT.of(wall.site, depth, lowest),
            _path_angle(wall.site, (poses or {}).get(wall.site), path),
        ]
    return found


def _draft(wall, path):
    sine = wall.normals @ path
    at = int(np.argmin(sine))
    return float(np.degrees(np.arcsin(np.clip(sine[at], -1, 1)))), wall.places[at]


def _path_angle(site, pose, path):
    if pose is None:
        return PATH_ANGLE.not_known(
            site, f"Where the implant at ISO {site} stands is not known."
        )
    sine = np.linalg.norm(np.cross(pose.axis, path))
    return PATH_ANGLE.of(site, np.degrees(np.arctan2(sine, pose.axis @ path)), pose.origin_mm)


def undercut(wall: Wall, path: np.ndarray) -> tuple[float, np.ndarray | None]:
    """Return how deep in mm the wall lies under what is above it along a path, and where (3,).

    0 and None where nothing overhangs.
    """
    corners = wall.vertices[wall.faces].reshape(-1, 3)
    pose = Pose.of((corners.min(axis=0) + corners.max(axis=0)) / 2, path)
    local = pose.to_local(wall.vertices)
    heights = local[wall.faces.reshape(-1), 2]
    low, high = heights.min(), heights.max()
    levels = int(np.ceil((high - low) / LEVEL_MM)) + 1
    step = (high - low) / max(levels - 1, 1)
    if not step > 0:
        return 0.0, None
    radius = sections_around(local, wall.faces, HALF_PLANES).outline(low, step, levels)
    above = np.maximum.accumulate(radius[:, ::-1], axis=1)[:, ::-1]
    depth = np.where(radius >= 0, above - radius, 0.0)
    k, level = np.unravel_index(np.argmax(depth), depth.shape)
    if not depth[k, level] > STILL:
        return 0.0, None
    turn = 2 * np.pi * k / HALF_PLANES
    r = radius[k, level]
    place = np.array([[r * np.cos(turn), r * np.sin(turn), low + level * step]])
    return float(depth[k, level]), pose.to_world(place)[0]


def post_taper(wall: Wall) -> Measured:
    """Return the total taper of a post: the angle between opposite walls, in the mean.

    Taken over the wall's own path; a tilt of it adds on one side what it takes off the other.
    """
    if not len(wall.normals):
        return TAPER.not_known(
            wall.site, f"No axial wall of the post at ISO {wall.site} is known."
        )
    path = wall.own_path
    local = wall.normals @ Pose.of(np.zeros(3), path).rigid.rotation
    sector = np.floor((np.arctan2(local[:, 1], local[:, 0]) / np.pi + 1) * SECTORS / 2)
    sector = np.minimum(sector.astype(int), SECTORS - 1)
    area = np.bincount(sector, wall.areas, SECTORS)
    up = np.bincount(sector, wall.areas * local[:, 2], SECTORS)
    out = np.bincount(sector, wall.areas * np.hypot(local[:, 0], local[:, 1]), SECTORS)
    draft = np.degrees(np.arctan2(up, out))
    other = (np.arange(SECTORS) + SECTORS // 2) % SECTORS
    both = (area > 0) & (area[other] > 0)
    if not both.any():
        return TAPER.not_known(
            wall.site, f"The post at ISO {wall.site} has no two walls opposite each other."
        )
    total = (draft + draft[other])[both]
    weight = (area * area[other])[both]
    middle = wall.areas @ wall.places / wall.areas.sum()
    return TAPER.of(
        wall.site, total @ weight / weight.sum(), middle,
        least_deg=total.min(), most_deg=total.max(), direction=path.tolist(),
    )  # fmt: skip
