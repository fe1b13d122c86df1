"""Which form has a scan body: by its dimensions, or by a mesh of it?

A form lies in the implant's own coordinates: origin at the centre of the platform, z along the
axis toward the crown, x toward its reference side. Dimensions are those of a round body with a
flat, with a bevel to one side, both or neither, straight or tapered; all else comes as a mesh.
"""

from dataclasses import asdict, dataclass
from functools import cached_property

import numpy as np
from scipy.spatial import ConvexHull, HalfspaceIntersection

from casework.measure.surfaces.fineness import split_long
from casework.measure.surfaces.nearest import Nearest
from casework.measure.surfaces.normals import face_areas, face_normals
from casework.measure.surfaces.pieces import compacted
from casework.measure.surfaces.sampling import spread

SIDES = 96  # of a round body: facets lie up to r (1 - cos(180°/96)) / 2 = 0.6 µm out and in
LONGEST_EDGE_MM = 0.8
SHARP_DEG = 20.0  # edges that turn more are not scanned as they are, but rounded
WALL_UP = 0.35  # the normal of a wall rises at most so much: 20 degrees
TURN_STEP_DEG = 5.0
SAME_TURNED_MM = 0.03  # a form that fits itself so well after a turn looks the same

NEEDED = {"diameter_mm": "diameter", "height_mm": "height above the platform"}
OPTIONAL = {
    "top_diameter_mm": "diameter at the top, of a tapered body",
    "bevel_mm": "bevel around the top",
    "flat_depth_mm": "how deep the flat cuts into the radius",
    "flat_from_mm": "height above the platform where the flat begins",
    "slope_deg": "angle of the bevel to one side, from the platform's plane",
    "slope_depth_mm": "how deep that bevel reaches down at its lowest",
}


@dataclass(frozen=True)
class Dimensions:
    """A round body in numbers; zero where a feature is not there."""

    diameter_mm: float
    height_mm: float
    top_diameter_mm: float = 0.0
    bevel_mm: float = 0.0
    flat_depth_mm: float = 0.0
    flat_from_mm: float = 0.0
    slope_deg: float = 0.0
    slope_depth_mm: float = 0.0

    def __post_init__(self):
        for name in NEEDED:
            if not getattr(self, name) > 0:
                raise ValueError(f"`{name}` ({NEEDED[name]}) must be above 0.")
        radius = min(self.diameter_mm, self.top_diameter_mm or self.diameter_mm) / 2
        for name in OPTIONAL:
            if not getattr(self, name) >= 0:
                raise ValueError(f"`{name}` ({OPTIONAL[name]}) must not be below 0.")
        if self.flat_depth_mm >= radius:
            raise ValueError("`flat_depth_mm` must be less than the radius.")
        if self.flat_from_mm >= self.height_mm:
            raise ValueError("`flat_from_mm` must be less than `height_mm`.")
        if self.bevel_mm >= min(radius, self.height_mm):
            raise ValueError("`bevel_mm` must be less than the radius and the height.")
        if bool(self.slope_deg) != bool(self.slope_depth_mm) or self.slope_deg >= 80:
            raise ValueError("`slope_deg` (below 80) and `slope_depth_mm` come together.")
        if self.slope_depth_mm >= self.height_mm:
            raise ValueError("`slope_depth_mm` must be less than `height_mm`.")


@dataclass(frozen=True, eq=False)
class Form:
    """A form as a surface: vertices (m, 3) in mm and faces (n, 3), normals outward.

    Whatever lies below the platform, and its bottom, is no part of it: no scanner sees it.
    """

    vertices: np.ndarray
    faces: np.ndarray
    dimensions: Dimensions | None = None

    @cached_property
    def normals(self) -> np.ndarray:
        return face_normals(self.vertices, self.faces)

    @cached_property
    def areas(self) -> np.ndarray:
        return face_areas(self.vertices, self.faces)

    @property
    def height_mm(self) -> float:
        return float(self.vertices[:, 2].max())

    @cached_property
    def reach_mm(self) -> float:
        """Largest distance of the surface from the axis."""
        return float(np.hypot(self.vertices[:, 0], self.vertices[:, 1]).max())

    @cached_property
    def wall_radius_mm(self) -> float:
        """Radius of the round wall (median by area), the reach where none is round."""
        wall = np.abs(self.normals[:, 2]) < WALL_UP
        middles = self.vertices[self.faces].mean(axis=1)
        # Only what is round looks straight away from the axis.
        away = middles[:, :2] / np.maximum(np.hypot(*middles[:, :2].T), 1e-9)[:, None]
        round_about = np.einsum("ij,ij->i", self.normals[:, :2], away)
        wall &= round_about > 0.97
        if not wall.any():
            return self.reach_mm
        radius = np.hypot(*middles[wall, :2].T)
        order = np.argsort(radius)
        share = np.cumsum(self.areas[wall][order]) / self.areas[wall].sum()
        return float(radius[order][np.searchsorted(share, 0.5)])

    @cached_property
    def edge_points(self) -> np.ndarray:
        """Points (k, 3) along every sharp edge, a tenth of a millimetre apart."""
        return _along_sharp_edges(self)

    @cached_property
    def nearest(self) -> Nearest:
        return Nearest(self.vertices, self.faces, 1.5)

    @cached_property
    def turns(self) -> int:
        """After how many equal turns it looks the same: 1 never, 0 after every turn."""
        return _turns(self)

    def as_dict(self) -> dict:
        """Return the dimensions, as a set writes them; a mesh has none."""
        told = asdict(self.dimensions) if self.dimensions else {}
        return {"form": "round", **{key: value for key, value in told.items() if value}}


def form_of(dimensions: Dimensions) -> Form:
    """Return the surface of a round body."""
    rings = []
    if dimensions.flat_depth_mm and dimensions.flat_from_mm > 0:
        rings.append(_hull(dimensions, 0.0, dimensions.flat_from_mm, flat=False))
        rings.append(
            _hull(dimensions, dimensions.flat_from_mm, dimensions.height_mm, flat=True)
        )
    else:
        flat = bool(dimensions.flat_depth_mm)
        rings.append(_hull(dimensions, 0.0, dimensions.height_mm, flat=flat))
    vertices, faces = _joined(dimensions, rings)
    return Form(*split_long(vertices, faces, LONGEST_EDGE_MM), dimensions)


def form_of_mesh(vertices: np.ndarray, faces: np.ndarray) -> Form:
    """Return the form of a mesh in the implant's own coordinates; raises ValueError."""
    if not len(faces):
        raise ValueError("The mesh of the scan body holds no triangle.")
    top = float(vertices[:, 2].max())
    if not 1.0 <= top <= 30.0:
        raise ValueError(
            "The mesh of the scan body must stand on its platform: origin at the platform's"
            f" centre, z along the axis. It reaches {top:.1f} mm above its origin."
        )
    middles = vertices[faces].mean(axis=1)
    seen = (middles[:, 2] > 0) & ~(
        (face_normals(vertices, faces)[:, 2] < -0.9) & (middles[:, 2] < 0.2)
    )
    return Form(*split_long(*compacted(vertices, faces[seen]), LONGEST_EDGE_MM))


def form_from_dict(row: dict) -> Form:
    """Return the form of the dimensions that a set tells; raises ValueError."""
    known = {*NEEDED, *OPTIONAL}
    for name in NEEDED:
        if name not in row:
            raise ValueError(f"`{name}` ({NEEDED[name]}) is missing.")
    told = {key: value for key, value in row.items() if key in known and value is not None}
    for key, value in told.items():
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise ValueError(f"`{key}` must be a number.")
    return form_of(Dimensions(**{key: float(value) for key, value in told.items()}))


def form_from_text(text: str) -> Form:
    """Return the form of "diameter=4.5,height=8,flat_depth=0.7"; raises ValueError.

    Names may end in their unit, as in a set.
    """
    known = {*NEEDED, *OPTIONAL}
    row = {}
    for part in filter(None, (piece.strip() for piece in text.split(","))):
        key, equals, value = (piece.strip() for piece in part.partition("="))
        name = next((one for one in known if key in (one, one.rpartition("_")[0])), None)
        if name is None or not equals:
            names = ", ".join(sorted(one.rpartition("_")[0] for one in known))
            raise ValueError(f"“{part}” is not known; write name=number with one of {names}.")
        try:
            row[name] = float(value)
        except ValueError:
            raise ValueError(f"“{value}” is no number, of {key}.") from None
    return form_from_dict(row)


def _hull(d, low, high, *, flat):
    """The convex part between two heights, as planes (normal, offset) cut out of space."""
    turn = 2 * np.pi * (np.arange(SIDES) + 0.5) / SIDES
    away = np.column_stack([np.cos(turn), np.sin(turn)])
    bottom, top = d.diameter_mm / 2, (d.top_diameter_mm or d.diameter_mm) / 2
    lean = (bottom - top) / d.height_mm  # radius lost per height
    # Facets touch the round body in their middle lines and stand out at their corners; half of
    # the difference is taken off, so that they lie as much outside as inside.
    fair = (1 + np.cos(np.pi / SIDES)) / 2
    planes = [
        np.column_stack([away, np.full(SIDES, lean), np.full(SIDES, -bottom * fair)]),
        [[0, 0, -1, low], [0, 0, 1, -high]],
    ]
    if d.bevel_mm and high == d.height_mm:
        planes.append(
            np.column_stack(
                [away, np.ones(SIDES), np.full(SIDES, d.bevel_mm - top * fair - d.height_mm)]
            )
        )
    if flat:
        planes.append([[1, 0, 0, -(d.diameter_mm / 2 - d.flat_depth_mm)]])
    if d.slope_deg:
        rise, across = np.cos(np.radians(d.slope_deg)), np.sin(np.radians(d.slope_deg))
        edge = [top, d.height_mm - d.slope_depth_mm]
        planes.append([[across, 0, rise, -(across * edge[0] + rise * edge[1])]])
    planes = np.concatenate([np.asarray(one, float) for one in planes])
    inside = [-0.3 * bottom, 0.0, low + 0.2 * min(high - low, 1.0)]
    corners = HalfspaceIntersection(planes, np.array(inside)).intersections
    corners = np.unique(np.round(corners, 9), axis=0)
    return corners, _outward(corners)


def _outward(corners):
    hull = ConvexHull(corners)
    faces = hull.simplices
    turned = np.einsum("ij,ij->i", face_normals(corners, faces), hull.equations[:, :3]) < 0
    faces[turned] = faces[turned][:, ::-1]
    return faces[np.lexsort(faces.T)]


def _joined(d, rings):
    """The parts without bottom and without what lies between them; the ledge where one is."""
    vertices, faces, count = [], [], 0
    for place, (corners, triangles) in enumerate(rings):
        normals = face_normals(corners, triangles)
        keep = normals[:, 2] > -0.999
        if place < len(rings) - 1:
            keep &= normals[:, 2] < 0.999
        vertices.append(corners)
        faces.append(triangles[keep] + count)
        count += len(corners)
    if len(rings) == 2:
        ledge = _ledge(d, rings[0][0])
        if len(ledge) >= 3:
            vertices.append(ledge)
            fan = [[count, count + k, count + k + 1] for k in range(1, len(ledge) - 1)]
            faces.append(np.array(fan))
    return compacted(np.concatenate(vertices), np.concatenate(faces))


def _ledge(d, lower):
    """The level piece between flat and wall, its corners in turn from the flat's one end."""
    at, cut = d.flat_from_mm, d.diameter_mm / 2 - d.flat_depth_mm
    rim = lower[np.abs(lower[:, 2] - at) < 1e-6]
    turn = np.arctan2(rim[:, 1], rim[:, 0])
    rim = rim[np.argsort(turn)]
    ahead = rim[rim[:, 0] > cut]
    if not len(ahead):
        return np.zeros((0, 3))
    half = np.sqrt(max((ahead[:, :2] ** 2).sum(axis=1).max() - cut * cut, 0.0))
    return np.concatenate([[[cut, -half, at]], ahead, [[cut, half, at]]])


def _along_sharp_edges(form):
    across, normals = form.nearest.across, form.normals
    row, k = np.nonzero(across >= 0)
    cosine = np.einsum("ij,ij->i", normals[row], normals[across[row, k]])
    sharp = cosine < np.cos(np.radians(SHARP_DEG))
    row, k = row[sharp], k[sharp]
    ends = form.vertices[form.faces[row, k]], form.vertices[form.faces[row, (k + 1) % 3]]
    pieces = [np.zeros((0, 3))]
    for one, two in zip(*ends, strict=True):
        count = max(2, int(np.linalg.norm(two - one) / 0.1) + 1)
        pieces.append(one + np.linspace(0, 1, count)[:, None] * (two - one))
    return np.concatenate(pieces)


def _turns(form):
    """Compare the form with itself turned: which equal turns leave it as it is?"""
    points, face_of = spread(form.vertices, form.faces, 0.5)
    areas = form.areas[face_of]
    weights = areas / np.bincount(face_of, minlength=len(form.faces))[face_of]
    weights /= weights.sum()

    def off(degrees):
        turn = np.radians(degrees)
        c, s = np.cos(turn), np.sin(turn)
        moved = points @ np.array([[c, -s, 0], [s, c, 0], [0, 0, 1]]).T
        found = form.nearest.closest(moved)
        distance = np.minimum(found.distance_mm, form.nearest.reach_mm)
        return np.sqrt(weights @ distance**2)

    if all(off(degrees) < SAME_TURNED_MM for degrees in np.arange(TURN_STEP_DEG, 180, 17.0)):
        return 0
    return next((n for n in range(12, 1, -1) if off(360 / n) < SAME_TURNED_MM), 1)
