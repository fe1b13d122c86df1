"""Which point of a surface is nearest to a point, how far, and on which side of it?

Triangles lie in the cells of a uniform grid; each cell knows how many cells away the nearest
filled one is, so that a point far from everything costs nothing. Rings of cells around the
point are searched until nothing nearer can be left: the result is exact, and the cost grows
with the distance, which is why a search has a reach.
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from casework.measure.jit import jit
from casework.measure.surfaces.boxes import balls, is_beyond, rectangles
from casework.measure.surfaces.normals import face_normals, vertex_normals
from casework.measure.surfaces.touching import faces_across

CELL_SIDES = 3.0  # a cell is so many times as wide as the root of a triangle's mean area
REACH_CELLS = 8  # a reach is at most so many cells
MOST_CELLS = 6_000_000
MOST_ENTRIES = 60_000_000  # triangle in cell; the grid is made coarser beyond


class Nearest:
    """The surface of vertices (m, 3) and faces (n, 3), ready to be asked within a reach."""

    def __init__(
        self,
        vertices: np.ndarray,
        faces: np.ndarray,
        reach_mm: float,
        cell_sides: float = CELL_SIDES,
    ):
        """With fewer `cell_sides` it takes longer to fill and less to ask."""
        if not reach_mm > 0:
            raise ValueError("a reach is more than 0 mm")
        self.vertices = np.ascontiguousarray(vertices, np.float64)
        self.faces = np.ascontiguousarray(faces, np.int32)
        self.reach_mm = float(reach_mm)
        if len(self.faces):
            self._fill(cell_sides)

    def _fill(self, cell_sides):
        self._low, high, area = _bounds(self.vertices, self.faces)
        size = high - self._low
        side = np.sqrt(area)
        cell = max(cell_sides * side, self.reach_mm / REACH_CELLS, size.max() / 1000, 1e-9)
        while True:
            counts = np.floor(size / cell).astype(np.int64) + 1
            ranges, entries = _ranges(self.vertices, self.faces, self._low, cell)
            if counts.prod() <= MOST_CELLS and entries <= MOST_ENTRIES:
                break
            cell *= 1.5
        self._cell, self._counts = cell, counts
        self._starts, self._held = _filled(
            self.vertices, self.faces, ranges, self._low, cell, counts
        )
        self._rectangles = rectangles(self.vertices, self.faces, self._low, self.reach_mm)
        self._balls = balls(self._rectangles, self._held)
        most = int(self.reach_mm / cell) + 2
        self._empty = _rings_empty(self._starts, counts, min(most, 255))

    def closest(self, points: np.ndarray, reach_mm: float | None = None) -> "Closest":
        """Return for each of points (k, 3) what is nearest within the reach."""
        points = np.ascontiguousarray(points, np.float64)
        reach = self.reach_mm if reach_mm is None else float(reach_mm)
        if reach > self.reach_mm:
            raise ValueError("the reach of a search is at most that of the grid")
        if not len(self.faces):
            k = len(points)
            none = (np.full(k, np.inf), np.full(k, -1, np.int32), np.zeros((k, 3)))
            return Closest(self, points, *none, np.zeros(k, np.uint8))
        found = _closest(
            points, self.vertices, self.faces, self._balls, self._rectangles, self._low,
            self._cell, self._counts, self._starts, self._held, self._empty, reach,
        )  # fmt: skip
        return Closest(self, points, *found)

    @cached_property
    def face_normals(self):
        return face_normals(self.vertices, self.faces)

    @cached_property
    def vertex_normals(self):
        return vertex_normals(self.vertices, self.faces)

    @cached_property
    def across(self):
        """The face on the other side of each edge (n, 3), -1 where there is none."""
        return faces_across(self.faces, len(self.vertices))

    @cached_property
    def is_border_vertex(self):
        edges = self.faces[..., None].repeat(2, axis=-1)
        edges[:, :, 1] = np.roll(self.faces, -1, axis=1)
        is_border = np.zeros(len(self.vertices), bool)
        is_border[edges[self.across < 0]] = True
        return is_border


@dataclass(frozen=True, eq=False)
class Closest:
    """What is nearest to each of k points.

    distance_mm (k,), inf beyond the reach; face (k,) int32, -1 beyond; point_mm (k, 3) on the
    surface; feature (k,): 0 inside the face, 1 to 3 on its edge from corner 0, 1, 2, 4 to 6 on
    its corner.
    """

    surface: Nearest
    points: np.ndarray
    distance_mm: np.ndarray
    face: np.ndarray
    point_mm: np.ndarray
    feature: np.ndarray

    @property
    def is_found(self) -> np.ndarray:
        return self.face >= 0

    @cached_property
    def signed_mm(self) -> np.ndarray:
        """Distances (k,), negative on the inner side of the surface, inf beyond the reach.

        The side is that of the normal of the nearest face, edge or corner, those weighted by
        angle (J. A. Bærentzen and H. Aanæs, IEEE Transactions on Visualization and Computer
        Graphics 2005); right for every closed surface that does not cut itself.
        """
        found = np.flatnonzero(self.is_found)
        away = self.points[found] - self.point_mm[found]
        inner = np.einsum("ij,ij->i", away, self._normals(found)) < 0
        signed = self.distance_mm.copy()
        signed[found[inner]] *= -1
        return signed

    @cached_property
    def is_on_border(self) -> np.ndarray:
        """Is the nearest place (k,) on the border of an open surface?"""
        on = np.zeros(len(self.points), bool)
        edge = np.flatnonzero((self.feature >= 1) & (self.feature <= 3) & self.is_found)
        on[edge] = self.surface.across[self.face[edge], self.feature[edge] - 1] < 0
        corner = np.flatnonzero(self.feature >= 4)
        vertex = self.surface.faces[self.face[corner], self.feature[corner] - 4]
        on[corner] = self.surface.is_border_vertex[vertex]
        return on

    def normals(self) -> np.ndarray:
        """Return unit normals (k, 3) of the nearest faces; zero beyond the reach."""
        normals = np.zeros_like(self.points)
        normals[self.is_found] = self.surface.face_normals[self.face[self.is_found]]
        return normals

    def _normals(self, found):
        face, feature = self.face[found], self.feature[found]
        normals = self.surface.face_normals[face].copy()
        edge = np.flatnonzero((feature >= 1) & (feature <= 3))
        if len(edge):
            other = self.surface.across[face[edge], feature[edge] - 1]
            normals[edge] += np.where(
                other[:, None] >= 0, self.surface.face_normals[other], 0.0
            )
        corner = np.flatnonzero(feature >= 4)
        if len(corner):
            vertex = self.surface.faces[face[corner], feature[corner] - 4]
            normals[corner] = self.surface.vertex_normals[vertex]
        return normals


@jit
def _bounds(vertices, faces):
    """Least and greatest corner of all faces, their mean area."""
    low, high, areas = np.full(3, np.inf), np.full(3, -np.inf), 0.0
    for f in range(len(faces)):
        ab_ab = ab_ac = ac_ac = 0.0
        for x in range(3):
            for k in range(3):
                low[x] = min(low[x], vertices[faces[f, k], x])
                high[x] = max(high[x], vertices[faces[f, k], x])
            ab = vertices[faces[f, 1], x] - vertices[faces[f, 0], x]
            ac = vertices[faces[f, 2], x] - vertices[faces[f, 0], x]
            ab_ab += ab * ab
            ab_ac += ab * ac
            ac_ac += ac * ac
        areas += 0.5 * np.sqrt(max(ab_ab * ac_ac - ab_ac * ab_ac, 0.0))
    return low, high, areas / len(faces)


@jit
def _ranges(vertices, faces, low, cell):
    """From which to which cell each face reaches (n, 3, 2), and how many cells that makes."""
    ranges, total = np.empty((len(faces), 3, 2), np.int16), 0
    for f in range(len(faces)):
        cells = 1
        for x in range(3):
            a, b, c = (
                vertices[faces[f, 0], x],
                vertices[faces[f, 1], x],
                vertices[faces[f, 2], x],
            )
            first = np.int64(np.floor((min(a, b, c) - low[x]) / cell))
            last = np.int64(np.floor((max(a, b, c) - low[x]) / cell))
            ranges[f, x, 0], ranges[f, x, 1] = first, last
            cells *= last - first + 1
        total += cells
    return ranges, total


@jit
def _filled(vertices, faces, ranges, low, cell, counts):
    """Sort the faces into the cells that their plane passes within their bounds."""
    starts = np.zeros(counts[0] * counts[1] * counts[2] + 1, np.int32)
    held = np.empty(0, np.int32)
    normal = np.empty(3)
    for turn in range(2):
        if turn == 1:
            for c in range(len(starts) - 1):
                starts[c + 1] += starts[c]
            held = np.empty(starts[-1], np.int32)
        for f in range(len(faces)):
            i0, i1 = np.int64(ranges[f, 0, 0]), np.int64(ranges[f, 0, 1])
            j0, j1 = np.int64(ranges[f, 1, 0]), np.int64(ranges[f, 1, 1])
            k0, k1 = np.int64(ranges[f, 2, 0]), np.int64(ranges[f, 2, 1])
            is_small = i1 - i0 < 2 and j1 - j0 < 2 and k1 - k0 < 2
            along, spread = 0.0, 0.0
            if not is_small:
                along, spread = _plane(vertices, faces, f, low, cell, normal)
            for i in range(i0, i1 + 1):
                for j in range(j0, j1 + 1):
                    for k in range(k0, k1 + 1):
                        if not is_small:
                            off = normal[0] * i + normal[1] * j + normal[2] * k - along
                            if abs(off) > spread:
                                continue
                        at = (i * counts[1] + j) * counts[2] + k
                        if turn == 0:
                            starts[at + 1] += 1
                        else:
                            held[starts[at]] = f
                            starts[at] += 1
    for c in range(len(starts) - 1, 0, -1):
        starts[c] = starts[c - 1]
    starts[0] = 0
    return starts, held


@jit
def _plane(vertices, faces, f, low, cell, normal):
    """The normal of a face, how far along it middles of cells lie on it, and may lie off."""
    a, b, c = faces[f, 0], faces[f, 1], faces[f, 2]
    along = spread = 0.0
    for x in range(3):
        y, z = (x + 1) % 3, (x + 2) % 3
        normal[x] = (vertices[b, y] - vertices[a, y]) * (vertices[c, z] - vertices[a, z])
        normal[x] -= (vertices[b, z] - vertices[a, z]) * (vertices[c, y] - vertices[a, y])
        along += normal[x] * ((vertices[a, x] - low[x]) / cell - 0.5)
        spread += 0.5001 * abs(normal[x])
    return along, spread


@jit
def _rings_empty(starts, counts, most):
    """How many rings of empty cells surround each cell, itself included; at most `most`."""
    nx, ny, nz = counts[0], counts[1], counts[2]
    empty = np.full(nx * ny * nz, most, np.uint8)
    for c in range(len(empty)):
        if starts[c + 1] > starts[c]:
            empty[c] = 0
    for turn in range(2):
        step = 1 if turn == 0 else -1
        for i0 in range(nx):
            i = i0 if turn == 0 else nx - 1 - i0
            for j0 in range(ny):
                j = j0 if turn == 0 else ny - 1 - j0
                for k0 in range(nz):
                    k = k0 if turn == 0 else nz - 1 - k0
                    at = (i * ny + j) * nz + k
                    best = empty[at]
                    if best == 0:
                        continue
                    # The half of the 26 neighbours that was passed before.
                    for di in range(-1, 1):
                        ii = i + di * step
                        if ii < 0 or ii >= nx:
                            continue
                        for dj in range(-1, 2 if di < 0 else 1):
                            jj = j + dj * step
                            if jj < 0 or jj >= ny:
                                continue
                            for dk in range(-1, 2 if (di < 0 or dj < 0) else 0):
                                kk = k + dk * step
                                if kk < 0 or kk >= nz:
                                    continue
                                near = empty[(ii * ny + jj) * nz + kk]
                                if near + 1 < best:
                                    best = near + 1
                    empty[at] = best
    return empty


@jit
def _closest(
    points, vertices, faces, balls, rectangles, low, cell, counts, starts, held, empty, reach
):
    k = len(points)
    distance = np.full(k, np.inf)
    face = np.full(k, -1, np.int32)
    place = np.zeros((k, 3))
    feature = np.zeros(k, np.uint8)
    home = np.empty(3, np.int64)
    nx, ny, nz = counts[0], counts[1], counts[2]
    for p in range(k):
        px, py, pz = points[p, 0], points[p, 1], points[p, 2]
        outside, margin = 0, cell
        is_number = True
        for x in range(3):
            share = (points[p, x] - low[x]) / cell
            if not abs(share) < 1e9:
                is_number = False
                break
            home[x] = np.int64(np.floor(share))
            margin = min(margin, (share - home[x]) * cell, (home[x] + 1 - share) * cell)
            outside = max(outside, -home[x], home[x] - counts[x] + 1)
        if not is_number or (outside - 1) * cell > reach:
            continue
        hx, hy, hz = home[0], home[1], home[2]
        ox, oy, oz = np.float32(px - low[0]), np.float32(py - low[1]), np.float32(pz - low[2])
        ring = outside
        if outside == 0:
            ring = np.int64(empty[(hx * ny + hy) * nz + hz])
        best, root = reach * reach, reach
        if p > 0 and face[p - 1] >= 0:
            # Points often come in the order of a surface: what was nearest before is near.
            f = face[p - 1]
            kind, qx, qy, qz = nearest_on(px, py, pz, vertices, faces, f)
            d = (px - qx) ** 2 + (py - qy) ** 2 + (pz - qz) ** 2
            if d <= best:
                best, root = d, np.sqrt(d)
                face[p], feature[p] = f, kind
                place[p, 0], place[p, 1], place[p, 2] = qx, qy, qz
        while True:
            if ring > 0:
                covered = (ring - 1) * cell + margin
                if covered * covered >= best:
                    break
            for i in range(max(hx - ring, 0), min(hx + ring, nx - 1) + 1):
                i_out = abs(i - hx) == ring
                i_off = _off(px, low[0] + i * cell, cell)
                for j in range(max(hy - ring, 0), min(hy + ring, ny - 1) + 1):
                    is_out = i_out or abs(j - hy) == ring
                    j_off = _off(py, low[1] + j * cell, cell)
                    ij_off = i_off * i_off + j_off * j_off
                    if ij_off > best:
                        continue
                    step = 1 if is_out or ring == 0 else 2 * ring
                    kk = hz - ring
                    if kk < 0:
                        kk = 0 if step == 1 else kk + step
                    row = (i * ny + j) * nz
                    while kk <= hz + ring and kk < nz:
                        c = row + kk
                        # As many cells from here on are empty, too.
                        kk += max(step, np.int64(empty[c])) if step == 1 else step
                        if starts[c] == starts[c + 1]:
                            continue
                        k_off = _off(pz, low[2] + (c - row) * cell, cell)
                        if ij_off + k_off * k_off > best:
                            continue
                        for h in range(starts[c], starts[c + 1]):
                            far = root + balls[h, 3]
                            bx, by, bz = ox - balls[h, 0], oy - balls[h, 1], oz - balls[h, 2]
                            if bx * bx + by * by + bz * bz > far * far:
                                continue
                            f = held[h]
                            if is_beyond(ox, oy, oz, rectangles[f], root):
                                continue
                            kind, qx, qy, qz = nearest_on(px, py, pz, vertices, faces, f)
                            d = (px - qx) ** 2 + (py - qy) ** 2 + (pz - qz) ** 2
                            # Of equally near faces the first of the file, in any search order.
                            if d < best or (d == best and (face[p] < 0 or f < face[p])):
                                best, root = d, np.sqrt(d)
                                face[p], feature[p] = f, kind
                                place[p, 0], place[p, 1], place[p, 2] = qx, qy, qz
            ring += 1
        if face[p] >= 0:
            distance[p] = root
    return distance, face, place, feature


@jit
def _off(value, start, length):
    """How far a value is outside of the stretch that begins at `start`."""
    return max(start - value, value - start - length, 0.0)


@jit
def nearest_on(px, py, pz, vertices, faces, f):
    """Return the feature and the place (x, y, z) of face f nearest to a point.

    By the regions of corners and edges (elementary geometry): 0 inside, 1 to 3 on the edge from
    corner 0, 1, 2, 4 to 6 on that corner.
    """
    a, b, c = faces[f, 0], faces[f, 1], faces[f, 2]
    ax, ay, az = vertices[a, 0], vertices[a, 1], vertices[a, 2]
    bx, by, bz = vertices[b, 0], vertices[b, 1], vertices[b, 2]
    cx, cy, cz = vertices[c, 0], vertices[c, 1], vertices[c, 2]
    abx, aby, abz = bx - ax, by - ay, bz - az
    acx, acy, acz = cx - ax, cy - ay, cz - az
    apx, apy, apz = px - ax, py - ay, pz - az
    d1 = abx * apx + aby * apy + abz * apz
    d2 = acx * apx + acy * apy + acz * apz
    if d1 <= 0 and d2 <= 0:
        return 4, ax, ay, az
    bpx, bpy, bpz = px - bx, py - by, pz - bz
    d3 = abx * bpx + aby * bpy + abz * bpz
    d4 = acx * bpx + acy * bpy + acz * bpz
    if d3 >= 0 and d4 <= d3:
        return 5, bx, by, bz
    vc = d1 * d4 - d3 * d2
    if vc <= 0 and d1 >= 0 and d3 <= 0:
        t = d1 / (d1 - d3)
        return 1, ax + t * abx, ay + t * aby, az + t * abz
    cpx, cpy, cpz = px - cx, py - cy, pz - cz
    d5 = abx * cpx + aby * cpy + abz * cpz
    d6 = acx * cpx + acy * cpy + acz * cpz
    if d6 >= 0 and d5 <= d6:
        return 6, cx, cy, cz
    vb = d5 * d2 - d1 * d6
    if vb <= 0 and d2 >= 0 and d6 <= 0:
        t = d2 / (d2 - d6)
        return 3, ax + t * acx, ay + t * acy, az + t * acz
    va = d3 * d6 - d5 * d4
    if va <= 0 and d4 - d3 >= 0 and d5 - d6 >= 0:
        t = (d4 - d3) / ((d4 - d3) + (d5 - d6))
        return 2, bx + t * (cx - bx), by + t * (cy - by), bz + t * (cz - bz)
    whole = va + vb + vc
    if not whole > 0:  # no area: the regions above leave rounding only
        return 4, ax, ay, az
    v, w = vb / whole, vc / whole
    return 0, ax + v * abx + w * acx, ay + v * aby + w * acy, az + v * abz + w * acz
