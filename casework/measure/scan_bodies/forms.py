"""Which form has a scan body: by its dimensions, or by a mesh of it?

A form lies in the implant's own coordinates: origin at the centre of the platform, z along the
axis toward the crown, x toward its reference side. Dimensions are those of a round body with a
flat, with a bevel to one side, both or neither, straight or tapered; all else comes as a mesh.
"""

from dataclasses import asdict, dataclass
from functools import cached_property

import numpy as np
from scipy.spatial import cKDTree

from casework.measure.scan_bodies.shaping import shaped
from casework.measure.surfaces.fineness import split_long
from casework.measure.surfaces.nearest import Nearest
from casework.measure.surfaces.normals import face_areas, face_normals
from casework.measure.surfaces.pieces import compacted
from casework.measure.surfaces.sampling import spread
from casework.measure.surfaces.shading import corner_normals

LONGEST_EDGE_MM = 0.8
MOST_FACES = 500_000  # of a mesh whose edges were cut to that
REACH_MM = 1.5
CELL_SIDES = 2.0  # of the grid of its nearest places: it is asked over and over
SHARP_DEG = 20.0  # edges that turn more are not scanned as they are, but rounded
EDGE_STEP_MM = 0.1
WALL_UP = 0.35  # the normal of a wall rises at most so much: 20 degrees
SUPPORT_STEP_MM = 0.2  # walls whose distances from the axis differ less are sought as one
LEAST_SUPPORT = 0.08  # share of the wall's area; smaller sides do not help to find a body
MOSTLY = 0.6  # of the wall at one distance from the axis: the body is round
WALL_BINS, WALL_BESIDE = 72, 2.0  # directions in which walls face, how exactly
SAMPLE_MM, SAMPLE_MM2 = 0.3, 0.05
TURN_STEP_DEG = 17.0  # does not divide a turn: a form the same after each is round
SAME_TURNED_MM = 0.03  # a form that fits itself so well after a turn looks the same
MOST_TURNS = 12

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
            if not 0 < getattr(self, name) < 50:
                raise ValueError(f"`{name}` ({NEEDED[name]}) must lie between 0 and 50.")
        radius = min(self.diameter_mm, self.top_diameter_mm or self.diameter_mm) / 2
        for name in OPTIONAL:
            if not 0 <= getattr(self, name) < 90:
                raise ValueError(f"`{name}` ({OPTIONAL[name]}) must lie between 0 and 90.")
        if self.flat_depth_mm >= radius:
            raise ValueError("`flat_depth_mm` must be less than the radius.")
        if self.flat_from_mm and not self.flat_depth_mm:
            raise ValueError("`flat_from_mm` needs `flat_depth_mm`: how deep the flat cuts.")
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
    def corner_normals(self) -> np.ndarray:
        return corner_normals(self.vertices, self.faces, SHARP_DEG)

    @property
    def height_mm(self) -> float:
        return float(self.vertices[:, 2].max())

    @cached_property
    def reach_mm(self) -> float:
        """Largest distance of the surface from the axis."""
        return float(np.hypot(self.vertices[:, 0], self.vertices[:, 1]).max())

    @cached_property
    def areas(self) -> np.ndarray:
        return face_areas(self.vertices, self.faces)

    @cached_property
    def wall_radius_mm(self) -> float:
        """How far the largest part of the wall passes from the axis."""
        return float(self.supports_mm[np.argmax(self._supports[1])])

    @cached_property
    def walls_mm(self) -> np.ndarray:
        """How far the walls that face a direction pass from the axis (bins, j), nan for none.

        One row for all directions where most of the wall is round: a flat may face anywhere.
        """
        supports, areas = self._supports
        if areas.max() > MOSTLY * areas.sum():
            return supports[None]
        places, face = self.samples
        normals = self.normals[face]
        wall = np.abs(normals[:, 2]) < WALL_UP
        facing = np.arctan2(normals[wall, 1], normals[wall, 0]) / (2 * np.pi) * WALL_BINS
        passes = np.einsum("ij,ij->i", normals[wall, :2], places[wall, :2])
        table = np.full((WALL_BINS, 2), np.nan)
        for row in range(WALL_BINS):
            beside = (facing - row + WALL_BINS / 2) % WALL_BINS - WALL_BINS / 2
            mine = passes[np.abs(beside) <= WALL_BESIDE]
            if len(mine):
                table[row] = mine.min(), mine.max()
        return table

    @property
    def supports_mm(self) -> np.ndarray:
        """How far the planes of the walls pass from the axis: one for a round body."""
        return self._supports[0]

    @cached_property
    def _supports(self):
        middles = self.vertices[self.faces].mean(axis=1)
        away = np.einsum("ij,ij->i", self.normals[:, :2], middles[:, :2])
        wall = (np.abs(self.normals[:, 2]) < WALL_UP) & (away > 0.5)
        if not wall.any():
            return np.array([self.reach_mm]), np.ones(1)
        areas = self.areas[wall]
        step = np.round(away[wall] / SUPPORT_STEP_MM).astype(int)
        sizes = np.bincount(step, areas)
        sums = np.bincount(step, areas * away[wall])
        large = sizes > LEAST_SUPPORT * areas.sum()
        return sums[large] / sizes[large], sizes[large]

    @cached_property
    def edge_points(self) -> np.ndarray:
        """Points (k, 3) along every sharp edge, a tenth of a millimetre apart."""
        return _along_sharp_edges(self)

    @cached_property
    def edges(self) -> cKDTree:
        return cKDTree(self.edge_points)

    @cached_property
    def nearest(self) -> Nearest:
        return Nearest(self.vertices, self.faces, REACH_MM, CELL_SIDES)

    @cached_property
    def samples(self):
        """Places each of which stands for `SAMPLE_MM2` of the form: (places (k, 3), faces)."""
        places, face = spread(self.vertices, self.faces, SAMPLE_MM)
        share = self.areas / np.maximum(np.bincount(face, minlength=len(self.faces)), 1)
        covered = np.cumsum(share[face])
        count = max(int(covered[-1] / SAMPLE_MM2), 1)
        chosen = np.searchsorted(covered, (np.arange(count) + 0.5) * covered[-1] / count)
        return places[chosen], face[chosen]

    @cached_property
    def sample_tree(self) -> cKDTree:
        return cKDTree(self.samples[0])

    def near_points(self, points: np.ndarray, reach_mm: float) -> np.ndarray:
        """Return which samples have one of points (k, 3) within a reach."""
        away, _ = cKDTree(points).query(self.samples[0], distance_upper_bound=reach_mm)
        return away < np.inf

    @cached_property
    def turns(self) -> int:
        """After how many equal turns it looks the same: 1 only a whole, 0 after every turn."""
        return _turns(self)

    def as_dict(self) -> dict:
        """Return the dimensions, as a set writes them; a mesh has none."""
        told = asdict(self.dimensions) if self.dimensions else {}
        return {"form": "round", **{key: value for key, value in told.items() if value}}


def form_of(dimensions: Dimensions) -> Form:
    """Return the surface of a round body."""
    return Form(*split_long(*shaped(dimensions), LONGEST_EDGE_MM), dimensions)


def form_of_mesh(vertices: np.ndarray, faces: np.ndarray) -> Form:
    """Return the form of a mesh in the implant's own coordinates; raises ValueError."""
    if not len(faces):
        raise ValueError("The mesh of the scan body holds no triangle.")
    top = float(vertices[:, 2].max())
    if not 1.0 <= top <= 30.0:
        raise ValueError(
            "The mesh of the scan body must stand on its platform: origin at the platform's"
            f" centre, z along the axis, in mm. It reaches {top:.1f} mm above its origin."
        )
    reach = float(np.hypot(vertices[:, 0], vertices[:, 1]).max())
    if reach > 15.0:
        raise ValueError(
            "The mesh of the scan body must stand around its axis, in mm. It reaches"
            f" {reach:.1f} mm to the side of it."
        )
    # First cut: a wall that begins below the platform is seen from the platform up.
    try:
        vertices, faces = split_long(vertices, faces, LONGEST_EDGE_MM, MOST_FACES)
    except ValueError as many:
        raise ValueError(
            "The mesh of the scan body has too many long, thin triangles. Export it with fewer."
            f" {many}"
        ) from None
    middles = vertices[faces].mean(axis=1)
    is_bottom = (face_normals(vertices, faces)[:, 2] < -0.9) & (middles[:, 2] < 0.2)
    form = Form(*compacted(vertices, faces[(middles[:, 2] > 0) & ~is_bottom]))
    # The platform closes what is seen: it lies in the origin's plane and adds no volume.
    if np.einsum("ij,ij->", *_cones(form)) <= 0:
        raise ValueError(
            "The mesh of the scan body is inside out, or encloses nothing above its platform:"
            " its triangles must face outward."
        )
    return form


def _cones(form):
    """One corner of each face and the normal of the other two: six times a cone's volume."""
    a, b, c = form.vertices[form.faces].transpose(1, 0, 2)
    return a, np.cross(b, c)


def form_from_dict(row: dict) -> Form:
    """Return the form of the dimensions that a set tells; raises ValueError."""
    for name, title in NEEDED.items():
        if row.get(name) is None:
            raise ValueError(f"`{name}` ({title}) is missing.")
    known = [key for key in (*NEEDED, *OPTIONAL) if row.get(key) is not None]
    for key in known:
        if isinstance(row[key], bool) or not isinstance(row[key], int | float):
            raise ValueError(f"`{key}` must be a number.")
    return form_of(Dimensions(**{key: float(row[key]) for key in known}))


def form_from_text(text: str) -> Form:
    """Return the form of "diameter=4.5,height=8,flat_depth=0.7"; raises ValueError.

    Names may end in their unit, as in a set; a first word without a value is passed over.
    """
    known = {name.rpartition("_")[0]: name for name in (*NEEDED, *OPTIONAL)}
    row = {}
    for place, part in enumerate(filter(None, (piece.strip() for piece in text.split(",")))):
        key, equals, value = (piece.strip() for piece in part.partition("="))
        if not equals and place == 0 and key == "cylinder":
            continue
        name = known.get(key) or (key if key in known.values() else None)
        if name is None or not equals:
            names = ", ".join(known)
            raise ValueError(f"“{part}” is not known; write name=number with one of {names}.")
        try:
            row[name] = float(value)
        except ValueError:
            raise ValueError(f"“{value}” is no number, of {key}.") from None
    return form_from_dict(row)


def _along_sharp_edges(form):
    across, normals = form.nearest.across, form.normals
    row, k = np.nonzero(across >= 0)
    cosine = np.einsum("ij,ij->i", normals[row], normals[across[row, k]])
    sharp = cosine < np.cos(np.radians(SHARP_DEG))
    row, k = row[sharp], k[sharp]
    ends = form.vertices[form.faces[row, k]], form.vertices[form.faces[row, (k + 1) % 3]]
    pieces = [np.zeros((0, 3))]
    for one, two in zip(*ends, strict=True):
        count = max(2, int(np.linalg.norm(two - one) / EDGE_STEP_MM) + 1)
        pieces.append(one + np.linspace(0, 1, count)[:, None] * (two - one))
    return np.concatenate(pieces)


def _turns(form):
    """Compare the form with itself turned: which equal turns leave it as it is?"""
    points, _face = form.samples

    def is_same(degrees):
        c, s = np.cos(np.radians(degrees)), np.sin(np.radians(degrees))
        moved = points @ np.array([[c, -s, 0], [s, c, 0], [0, 0, 1]]).T
        distance = np.minimum(form.nearest.closest(moved).distance_mm, REACH_MM)
        return np.sqrt(np.mean(distance**2)) < SAME_TURNED_MM

    if all(is_same(degrees) for degrees in np.arange(TURN_STEP_DEG, 180, TURN_STEP_DEG)):
        return 0
    return next((n for n in range(MOST_TURNS, 1, -1) if is_same(360 / n)), 1)
