"""What is a surface mesh, and when are two of its vertices one?

Two vertices are one when their coordinates, rounded to float32, are equal (-0 equals +0). A
merged vertex keeps the coordinates of its first mention, in the precision of the file.
"""

import hashlib
from dataclasses import dataclass

import numpy as np

from casework.measure.faults import MeshUnreadable, Note, note
from casework.measure.jit import jit

FLOAT32_MAX = float(np.finfo(np.float32).max)


@dataclass(frozen=True, eq=False)
class Mesh:
    """A surface in millimetres.

    vertices (m, 3) float64, each used by a face; faces (n, 3) int32, in the order of the
    file; colours (m, 3) and face_colours (n, 3) uint8 or None; format 'binary STL', 'text
    STL', 'PLY' or 'OBJ'; notes on what was accepted with a remark.
    """

    vertices: np.ndarray
    faces: np.ndarray
    colours: np.ndarray | None = None
    face_colours: np.ndarray | None = None
    format: str = ""
    notes: tuple[Note, ...] = ()

    @property
    def triangles_mm(self) -> np.ndarray:
        """Corners of the triangles, (n, 3, 3) float64, made anew on each call."""
        return self.vertices[self.faces]


@jit
def _first_mentions(bits):
    """Number the distinct rows of bits (k, 3) uint32 in the order of their first mention."""
    k = bits.shape[0]
    size = 1024
    while size < k // 2:
        size *= 2
    table = np.full(size, -1, np.int32)
    number = np.empty(k, np.int32)
    first = np.empty(k, np.int64)
    m = 0
    for i in range(k):
        x, y, z = bits[i, 0], bits[i, 1], bits[i, 2]
        if x == 0x80000000:
            x = np.uint32(0)
        if y == 0x80000000:
            y = np.uint32(0)
        if z == 0x80000000:
            z = np.uint32(0)
        bits[i, 0], bits[i, 1], bits[i, 2] = x, y, z
        slot = _slot(x, y, z, size)
        while True:
            j = table[slot]
            if j < 0:
                table[slot] = m
                first[m] = i
                number[i] = m
                m += 1
                break
            f = first[j]
            if bits[f, 0] == x and bits[f, 1] == y and bits[f, 2] == z:
                number[i] = j
                break
            slot = (slot + 1) & (size - 1)
        if m * 3 > size * 2:
            size *= 2
            table = np.full(size, -1, np.int32)
            for j in range(m):
                f = first[j]
                slot = _slot(bits[f, 0], bits[f, 1], bits[f, 2], size)
                while table[slot] >= 0:
                    slot = (slot + 1) & (size - 1)
                table[slot] = j
    return number, first[:m].copy()


@jit
def _slot(x, y, z, size):
    h = np.uint64(x) * np.uint64(0x9E3779B97F4A7C15)
    h = (h ^ (h >> np.uint64(29)) ^ np.uint64(y)) * np.uint64(0xBF58476D1CE4E5B9)
    h = (h ^ (h >> np.uint64(32)) ^ np.uint64(z)) * np.uint64(0x94D049BB133111EB)
    h ^= h >> np.uint64(31)
    return np.int64(h & np.uint64(size - 1))


def merged(points: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Return for each of points (k, 3) the number of its vertex, and where each is first met.

    Numbers run in the order of first mention. Points must be finite in float32.
    """
    if points.ndim != 2 or points.shape[1] != 3:
        raise ValueError(f"points must be (k, 3), not {points.shape}")
    bits = np.array(points, dtype=np.float32, order="C", copy=True).view(np.uint32)
    return _first_mentions(bits)


def mesh_of_corners(corners, name, *, kind, factor=1.0, face_colours=None, notes=()) -> Mesh:
    """Return the Mesh of corners (n, 3, 3) as a file of separate triangles stores them."""
    points = corners.reshape(-1, 3)
    refuse_wild(points, name, thing="triangle", per_thing=3)
    number, first = merged(points)
    faces = number.reshape(-1, 3)
    return _finished(points[first], faces, None, face_colours, kind, factor, notes)


def mesh_of_indexed(
    points, faces, name, *, kind, factor=1.0, colours=None, face_colours=None, notes=()
) -> Mesh:
    """Return the Mesh of points (k, 3) and faces (n, 3) that are known to be in range.

    Points used by no face are left out, with a note.
    """
    refuse_wild(points, name, thing="vertex", per_thing=1)
    is_used = np.zeros(len(points), bool)
    is_used[faces.reshape(-1)] = True
    unused = len(points) - int(np.count_nonzero(is_used))
    if unused:
        notes = (*notes, note("unused_vertices", count=unused))
        place = np.cumsum(is_used, dtype=np.int64) - 1
        faces, points = place[faces], points[is_used]
        colours = None if colours is None else colours[is_used]
    number, first = merged(points)
    return _finished(
        points[first],
        number[faces],
        None if colours is None else colours[first],
        face_colours,
        kind,
        factor,
        notes,
    )


def refuse_wild(points, name, *, thing, per_thing):
    """Refuse coordinates that are not numbers, or that float32 cannot hold."""
    with np.errstate(invalid="ignore"):
        is_good = np.abs(points) <= FLOAT32_MAX
    if is_good.all():
        return
    is_number = np.isfinite(points)
    bad = ~is_number if not is_number.all() else ~is_good
    code = "not_finite" if not is_number.all() else "coordinate_too_large"
    row = int(np.argmax(bad.any(axis=1)))
    raise MeshUnreadable(
        code,
        name=name,
        count=int(np.count_nonzero(bad)),
        thing=thing,
        first=row // per_thing + 1,
        value=f"{points[row][np.argmax(bad[row])]:g}",
    )


def _finished(points, faces, colours, face_colours, kind, factor, notes):
    vertices = np.asarray(points, np.float64) * factor + 0.0
    arrays = (vertices, np.ascontiguousarray(faces, np.int32), colours, face_colours)
    for array in arrays:
        if array is not None:
            array.setflags(write=False)
    return Mesh(*arrays, format=kind, notes=tuple(notes))


def geometry_digest(mesh: Mesh) -> str:
    """Return the SHA-256 (hex) of the triangles in the order of the file.

    Hashed are the corner coordinates as little-endian float64 with -0 written as +0, nine
    numbers a triangle: names, comments and colours have no part in it.
    """
    digest = hashlib.sha256()
    for start in range(0, len(mesh.faces), 65536):
        corners = mesh.vertices[mesh.faces[start : start + 65536]]
        digest.update(np.ascontiguousarray(corners, "<f8"))
    return digest.hexdigest()
