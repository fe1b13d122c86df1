"""What does a picture of surfaces look like, from a given side, at a given scale?

A small renderer without a graphics card: the same input gives the same bytes on one machine.
Parts are drawn opaque or translucent, cut open by a plane, or coloured by a length. Pictures
are drawn twice as large and averaged.
"""

from dataclasses import dataclass, field

import numpy as np

from casework.measure.surfaces.colours import UNKNOWN, Ramp, one_hue
from casework.measure.surfaces.normals import vertex_normals
from casework.measure.surfaces.rastering import add_solid, draw_lines, nearest_faces, shade

OVERSIZE = 2
LAYERS = 3  # of translucent surfaces behind one another; more only muddy the picture
PEEL_MM = 1e-4  # two layers are further apart; the corners of one face are not
JUMP_PIXELS = 9.0  # a step back of more is drawn as a line
HATCH_PIXELS = 9
PAPER = (255.0, 255.0, 255.0)
INK = (34.0, 34.0, 40.0)


@dataclass(frozen=True, eq=False)
class Camera:
    """A parallel projection: `toward` from the eye into the picture, `up` on it.

    `centre_mm` (3,) is in the middle; the picture's width shows `width_mm`.
    """

    centre_mm: np.ndarray
    toward: np.ndarray
    up: np.ndarray
    width_mm: float

    @property
    def axes(self) -> np.ndarray:
        """Rows: right, down, into the picture; unit, at right angles."""
        toward = _unit(self.toward)
        up = np.asarray(self.up, float)
        up = _unit(up - (up @ toward) * toward)
        return np.stack([np.cross(toward, up), -up, toward])

    def on_screen(self, points_mm: np.ndarray, size: tuple[int, int]) -> np.ndarray:
        """Return (k, 3): pixels right and down from the upper left corner, depth in mm."""
        width, height = size
        seen = (np.asarray(points_mm, float) - self.centre_mm) @ self.axes.T
        seen[:, :2] *= width / self.width_mm
        seen[:, :2] += width / 2, height / 2
        return seen


def _unit(vector):
    vector = np.asarray(vector, float)
    length = np.linalg.norm(vector)
    if not length > 1e-12:
        raise ValueError("a direction has a length, and up is not the way one looks")
    return vector / length


@dataclass(frozen=True, eq=False)
class Part:
    """One surface in a picture.

    vertices (m, 3) in mm, nan where a place is not known: its triangles are left out; faces
    (n, 3); colour of 255. `lengths_mm` (m,) is shown by `ramp`, grey where nan. `is_solid`
    marks a closed body: where it is opaque, a section fills it with hatching. `is_cut` False
    leaves it whole.
    """

    vertices: np.ndarray
    faces: np.ndarray
    colour: tuple[int, int, int] = (205, 198, 188)
    opacity: float = 1.0
    is_smooth: bool = True
    is_solid: bool = False
    is_cut: bool = True
    lengths_mm: np.ndarray | None = None
    ramp: Ramp | None = None


@dataclass(frozen=True, eq=False)
class Section:
    """A plane through `point_mm` (3,); what lies on the side of `normal` (3,) is taken off."""

    point_mm: np.ndarray
    normal: np.ndarray

    def height(self, points_mm):
        return (points_mm - np.asarray(self.point_mm, float)) @ _unit(self.normal)


def draw(
    parts: list[Part],
    camera: Camera,
    size: tuple[int, int] = (900, 700),
    section: Section | None = None,
) -> np.ndarray:
    """Return the picture (height, width, 3) uint8 of parts; what is not covered is white."""
    width, height = size
    scene = _Scene(parts, camera, (OVERSIZE * width, OVERSIZE * height), section)
    image = scene.opaque()
    for layer in reversed(scene.translucent_layers()):
        image += layer.opacity[..., None] * (layer.rgb - image)
    blocks = image.reshape(height, OVERSIZE, width, OVERSIZE, 3)
    return np.clip(blocks.mean(axis=(1, 3)) + 0.5, 0, 255).astype(np.uint8)


@dataclass(eq=False)
class _Layer:
    rgb: np.ndarray
    opacity: np.ndarray
    depth: np.ndarray


@dataclass(eq=False)
class _Scene:
    """All parts as one list of corners and faces, opaque ones first."""

    parts: list[Part]
    camera: Camera
    size: tuple[int, int]
    section: Section | None
    ramp: np.ndarray = field(default_factory=one_hue)

    def __post_init__(self):
        self.parts = sorted(self.parts, key=lambda part: part.opacity < 1.0)
        meshes = [_whole(part, self.section is not None) for part in self.parts]
        counts = [len(vertices) for vertices, _faces in meshes]
        starts = np.concatenate([[0], np.cumsum(counts)]).astype(np.int64)
        self.vertices = np.concatenate([np.zeros((0, 3)), *(v for v, _f in meshes)])
        self.faces = np.concatenate(
            [np.zeros((0, 3), np.int32)]
            + [f + np.int32(start) for (_v, f), start in zip(meshes, starts, strict=False)]
        )
        self.part_of = np.repeat(
            np.arange(len(meshes), dtype=np.int32), [len(f) for _v, f in meshes]
        )
        self.last_opaque = sum(
            len(f) for (_v, f), part in zip(meshes, self.parts, strict=True)
            if part.opacity >= 1.0
        )  # fmt: skip
        self.normals = np.concatenate(
            [np.zeros((0, 3))]
            + [
                vertex_normals(v, f) if part.is_smooth else np.zeros((len(v), 3))
                for (v, f), part in zip(meshes, self.parts, strict=True)
            ]
        )
        self.lengths = np.concatenate(
            [np.zeros(0)]
            + [
                np.full(count, np.nan) if part.lengths_mm is None else part.lengths_mm
                for part, count in zip(self.parts, counts, strict=True)
            ]
        ).astype(np.float64)
        self.cut = self._cut(starts)
        self.screen = self.camera.on_screen(self.vertices, self.size)

    def _cut(self, starts):
        cut = np.full(len(self.vertices), -1.0)
        if self.section is not None:
            for part, start, end in zip(self.parts, starts, starts[1:], strict=False):
                if part.is_cut:
                    cut[start:end] = self.section.height(self.vertices[start:end])
        return cut

    def opaque(self):
        """The picture of the opaque parts on white; keeps how deep they lie."""
        far = np.full(self.size[::-1], np.inf)
        layer = self._layer(-far, far, 0, self.last_opaque)
        self.depth = layer.depth
        return layer.rgb

    def translucent_layers(self):
        """The layers of translucent parts in front of the opaque ones, nearest first."""
        layers, behind = [], np.full(self.size[::-1], -np.inf)
        for _ in range(LAYERS if self.last_opaque < len(self.faces) else 0):
            layer = self._layer(behind, self.depth, self.last_opaque, len(self.faces))
            layers.append(layer)
            behind = layer.depth + PEEL_MM
        return layers

    def _layer(self, behind, before, first, last):
        shape = self.size[::-1]
        depth, face_at = _empty(shape)
        is_cap = np.zeros(shape, bool)
        for start, end, is_solid in self._runs(first, last):
            own = _empty(shape) if is_solid else (depth, face_at)
            nearest_faces(self.screen, self.cut, self.faces, start, end, behind, before, *own)
            if is_solid:
                plane = self._plane_depth()
                add_solid(self.screen, self.faces, plane, *own, depth, face_at, is_cap)
        return self._shaded(depth, face_at, is_cap)

    def _runs(self, first, last):
        """Faces from first to last, solids that are cut apart from the others."""
        ends = np.cumsum(np.bincount(self.part_of, minlength=len(self.parts)))
        for part, start, end in zip(self.parts, [0, *ends], ends, strict=False):
            if first <= start and end <= last and start < end:
                yield int(start), int(end), self._shows_inside(part)

    def _shows_inside(self, part):
        if self.section is None or part.opacity < 1.0 or not (part.is_solid and part.is_cut):
            return False
        return abs(self.camera.axes[2] @ _unit(self.section.normal)) > 1e-6

    def _plane_depth(self):
        """How deep the section lies at the upper left, and more with each pixel right, down."""
        normal, axes = _unit(self.section.normal), self.camera.axes
        scale = self.camera.width_mm / self.size[0]
        corner = self.camera.centre_mm - scale / 2 * (
            self.size[0] * axes[0] + self.size[1] * axes[1]
        )
        height = self.section.height(corner)
        return -np.array([height, scale * (axes[0] @ normal), scale * (axes[1] @ normal)]) / (
            axes[2] @ normal
        )

    def _shaded(self, depth, face_at, is_cap):
        shape = depth.shape
        rgb = np.full((*shape, 3), PAPER, np.float32)
        lengths = np.full(shape, np.nan)
        right, down, toward = self.camera.axes
        colours, smooth, on_ramp, lines_of, opacity = self._of_parts()
        shade(
            face_at, is_cap, self.screen, self.vertices, self.faces, self.normals,
            self.part_of, colours, smooth, self.lengths, on_ramp, self.ramp,
            np.array(UNKNOWN, float), _unit(-toward - 0.35 * down - 0.30 * right), toward,
            HATCH_PIXELS * OVERSIZE, rgb, lengths,
        )  # fmt: skip
        is_covered = face_at >= 0
        part_at = np.full(shape, -1, np.int32)
        part_at[is_covered] = self.part_of[face_at[is_covered]]
        jump = JUMP_PIXELS * self.camera.width_mm / self.size[0]
        draw_lines(
            rgb, depth, 2 * part_at + is_cap, lengths, np.repeat(lines_of, 2, axis=0), jump,
            np.array(INK),
        )  # fmt: skip
        covers = np.zeros(shape, np.float32)
        covers[is_covered] = opacity[part_at[is_covered]]
        return _Layer(rgb, covers, depth)

    def _of_parts(self):
        parts = self.parts
        ramps = [part.ramp if part.lengths_mm is not None else None for part in parts]
        return (
            np.array([part.colour for part in parts], float).reshape(-1, 3),
            np.array([part.is_smooth for part in parts], bool),
            np.array(
                [(0, 0, 1) if r is None else (1, r.light_mm, r.dark_mm) for r in ramps], float
            ).reshape(-1, 3),
            _side_by_side([[mm for _words, mm in r.lines] if r else [] for r in ramps]),
            np.array([part.opacity for part in parts], float),
        )


def _side_by_side(rows):
    """Rows of different lengths as one array (len(rows), longest), filled up with nan."""
    filled = np.full((len(rows), max(map(len, rows), default=0)), np.nan)
    for one, row in zip(filled, rows, strict=True):
        one[: len(row)] = row
    return filled


def _empty(shape):
    return np.full(shape, np.inf), np.full(shape, -1, np.int32)


def _whole(part, is_section):
    """Vertices and faces of a part without places that are not known, solids turned outward."""
    vertices = np.ascontiguousarray(part.vertices, np.float64).reshape(-1, 3)
    faces = np.ascontiguousarray(part.faces, np.int32).reshape(-1, 3)
    is_known = np.isfinite(vertices).all(axis=1)
    if not is_known.all():
        faces = faces[is_known[faces].all(axis=1)]
        vertices = np.where(is_known[:, None], vertices, 0.0)
    if part.is_solid and is_section and len(faces):
        a, b, c = (vertices[faces[:, k]] - vertices[faces[0, 0]] for k in range(3))
        if np.einsum("ij,ij->", a, np.cross(b, c)) < 0:
            faces = faces[:, ::-1]
    return vertices, np.ascontiguousarray(faces)
