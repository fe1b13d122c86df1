"""Where in a scan do round bodies of about a given radius stand?

Every point of a round wall, taken inward along its normal by the radius, lies on the axis:
these places are counted in small cells, and where many fall together an axis is tried. A
cylinder is fitted to the points around; how much of it is covered and how closely says how
likely it is a body. A tooth follows no cylinder closely.
"""

from dataclasses import dataclass

import numpy as np

from casework.measure.jit import jit
from casework.measure.surfaces.normals import vertex_normals
from casework.measure.surfaces.pieces import compacted, main_pieces
from casework.measure.surfaces.smoothing import neighbours

LEAST_SHARE = 0.002  # of the scan's area: a body may be a piece of its own
SMOOTH_MM = 0.3  # normals are smoothed over so far
CELL_MM = 0.3
TRIED = 40  # places tried at most, the fullest first
MOST_POINTS = 60_000  # to seek with; the fit afterwards takes all
RADIUS_OFF_MM = 0.45  # a body of another system may differ so much and is still seen
WIDEST_SPREAD_MM = 0.09  # of the wall's points; a scan with more noise cannot be measured
BALL_MM = 0.9  # around the fullest cell, for the first direction
NEAR_MM = 0.3  # of the wall, for the first fit of the cylinder
ALONG_MM = 7.0
STEEP = 0.35  # the normal of a wall has at most so much along the axis
AZIMUTHS, LEVEL_MM = 24, 0.5
LEAST_CELLS = 26  # of wall that must be covered: 30 % around over 2 mm, or less over more
APART_MM = 1.5  # two bodies are farther apart
CLICK_MM = 13.0  # around a point that somebody pointed at


@dataclass(frozen=True, eq=False)
class Surface:
    """A scan made ready: vertices (m, 3), smoothed normals (m, 3), mean edge."""

    vertices: np.ndarray
    faces: np.ndarray
    normals: np.ndarray
    edge_mm: float
    dropped: list


@dataclass(frozen=True, eq=False)
class Cylinder:
    """A round wall: a point on its axis, the axis, its radius, spread of its points, cells."""

    point_mm: np.ndarray
    axis: np.ndarray
    radius_mm: float
    spread_mm: float
    cells: int


def prepared(vertices: np.ndarray, faces: np.ndarray) -> Surface:
    """Return a scan without its smallest pieces and with smoothed normals."""
    vertices, faces, dropped = main_pieces(*compacted(vertices, faces), LEAST_SHARE)
    sides = vertices[faces[:, 0]] - vertices[faces[:, 1]]
    edge = float(np.sqrt(np.median(np.einsum("ij,ij->i", sides, sides)))) if len(faces) else 1.0
    normals = vertex_normals(vertices, faces)
    passes = int(np.clip(round(1.5 * (SMOOTH_MM / max(edge, 1e-3)) ** 2), 1, 12))
    starts, others, _ = neighbours(np.ascontiguousarray(faces, np.int32), len(vertices))
    for _turn in range(passes):
        normals = _averaged(normals, starts, others)
    return Surface(np.ascontiguousarray(vertices, np.float64), faces, normals, edge, dropped)


def cropped(surface: Surface, near_mm: np.ndarray) -> Surface:
    """Return what of a surface lies near some points (k, 3)."""
    away = np.linalg.norm(surface.vertices[:, None] - np.atleast_2d(near_mm)[None], axis=2)
    keep = away.min(axis=1) < CLICK_MM
    number = np.cumsum(keep) - 1
    faces = surface.faces[keep[surface.faces].all(axis=1)]
    return Surface(
        surface.vertices[keep], number[faces], surface.normals[keep], surface.edge_mm, []
    )


def round_bodies(surface: Surface, radii_mm) -> list[Cylinder]:
    """Return the round walls of about these radii, the best covered first."""
    found = []
    thin = _thinned(surface)
    for radius in radii_mm:
        found += _of_radius(thin, radius)
    found.sort(key=lambda one: (-one.cells / (one.spread_mm + 0.01), *one.point_mm))
    kept = []
    for one in found:
        if all(_apart(one, other) for other in kept):
            kept.append(one)
    return kept


def _thinned(surface):
    """Every so-many-th point: its order follows the surface, so that all of it is kept."""
    step = -(-len(surface.vertices) // MOST_POINTS)
    if step <= 1:
        return surface
    return Surface(
        np.ascontiguousarray(surface.vertices[::step]), surface.faces[:0],
        np.ascontiguousarray(surface.normals[::step]), surface.edge_mm * step**0.5, [],
    )  # fmt: skip


def _apart(one, other):
    """Do two axes keep their distance where the bodies are?"""
    away = one.point_mm - other.point_mm
    across = away - (away @ other.axis) * other.axis
    return np.linalg.norm(across) > APART_MM or abs(away @ other.axis) > 2 * ALONG_MM


def _of_radius(surface, radius):
    inner = surface.vertices - radius * surface.normals
    low = inner.min(axis=0) - 2 * CELL_MM
    counts = np.floor((inner.max(axis=0) - low) / CELL_MM).astype(np.int64) + 3
    number, votes, around = _voted(inner, low, CELL_MM, counts)
    # In a cell a full wall 3 mm high leaves about so many places.
    expected = 2 * np.pi * radius * CELL_MM / (0.87 * surface.edge_mm**2)
    order = np.argsort(-around, kind="stable")
    order = order[around[order] > 0.1 * expected]
    bodies, tried = [], 0
    is_done = np.zeros(len(around), bool)
    places = low + (np.stack(_unravel(number, counts), axis=1) + 0.5) * CELL_MM
    for cell in order:
        if is_done[cell]:
            continue
        tried += 1
        if tried > TRIED:
            break
        is_done |= np.abs(places - places[cell]).max(axis=1) < BALL_MM
        body = _tried(surface, inner, places[cell], radius)
        if body is None:
            continue
        bodies.append(body)
        away = places - body.point_mm
        across = away - (away @ body.axis)[:, None] * body.axis
        is_done |= (np.linalg.norm(across, axis=1) < APART_MM) & (
            np.abs(away @ body.axis) < ALONG_MM
        )
    return bodies


def _unravel(number, counts):
    return np.unravel_index(number, tuple(counts))


def _voted(inner, low, cell, counts):
    """Filled cells, how many places are in each, and in it with its 26 neighbours."""
    at = np.floor((inner - low) / cell).astype(np.int64)
    number = np.ravel_multi_index(tuple(at.T), tuple(counts))
    filled, votes = np.unique(number, return_counts=True)
    return filled, votes, _around(filled, votes, counts)


@jit
def _around(filled, votes, counts):
    total = np.zeros(len(filled))
    for c in range(len(filled)):
        k = filled[c] % counts[2]
        j = (filled[c] // counts[2]) % counts[1]
        i = filled[c] // (counts[2] * counts[1])
        for di in range(-1, 2):
            for dj in range(-1, 2):
                low = ((i + di) * counts[1] + j + dj) * counts[2] + k - 1
                at = np.searchsorted(filled, low)
                while at < len(filled) and filled[at] <= low + 2:
                    total[c] += votes[at]
                    at += 1
    return total


def _tried(surface, inner, place, radius):
    """Fit a cylinder around a place where many inner points meet; None where none stands."""
    mine = np.flatnonzero(
        np.einsum("ij,ij->i", inner - place, inner - place) < BALL_MM * BALL_MM
    )
    if len(mine) < 20:
        return None
    values, vectors = np.linalg.eigh(surface.normals[mine].T @ surface.normals[mine])
    if values[1] < 0.04 * values.sum():
        return None  # all normals alike: a plane, not a wall around an axis
    axis, point, asked = vectors[:, 0], inner[mine].mean(axis=0), radius
    box = np.flatnonzero(
        np.abs(surface.vertices - point).max(axis=1) < ALONG_MM + radius + NEAR_MM
    )
    points, normals = surface.vertices[box], surface.normals[box]
    for near in (3 * NEAR_MM, 2 * NEAR_MM, NEAR_MM, NEAR_MM, 0.6 * NEAR_MM, 0.5 * NEAR_MM):
        found = _cylinder(points, normals, point, axis, radius, near)
        if found is None:
            return None
        point, axis, radius, spread, wall = found
        if abs(radius - asked) > RADIUS_OFF_MM:
            return None
    if spread > WIDEST_SPREAD_MM:
        return None
    cells = _covered(points[wall], point, axis)
    if cells < LEAST_CELLS:
        return None
    along = (points[wall] - point) @ axis
    return Cylinder(point + np.median(along) * axis, axis, radius, spread, cells)


def _cylinder(points, normals, point, axis, radius, near):
    """One step of least squares for place, direction and radius of a cylinder."""
    away = points - point
    along = away @ axis
    across = away - along[:, None] * axis
    distance = np.linalg.norm(across, axis=1)
    outward = across / np.maximum(distance, 1e-9)[:, None]
    facing = np.einsum("ij,ij->i", normals, outward)
    wall = np.flatnonzero(
        (np.abs(distance - radius) < near)
        & (facing > 0.9)
        & (np.abs(along) < ALONG_MM)
        & (np.abs(normals @ axis) < STEEP)
    )
    if len(wall) < 30:
        return None
    u = np.eye(3)[np.argmin(np.abs(axis))]
    u = np.cross(axis, u)
    u /= np.linalg.norm(u)
    v = np.cross(axis, u)
    off = distance[wall] - radius
    x, y, z = outward[wall] @ u, outward[wall] @ v, along[wall]
    scale = 1.4826 * np.median(np.abs(off - np.median(off))) + 1e-4
    weight = 1.0 / (1.0 + ((off - np.median(off)) / (2.5 * scale)) ** 2) ** 2
    columns = np.column_stack([x, y, x * z, y * z, np.ones(len(z))])
    left = columns * weight[:, None]
    move = np.linalg.lstsq(left.T @ columns, left.T @ off, rcond=1e-10)[0]
    if np.abs(move[:2]).max() > 2.0 or np.abs(move[2:4]).max() > 1.0:
        return None
    axis = axis + move[2] * u + move[3] * v
    point = point + move[0] * u + move[1] * v
    return point, axis / np.linalg.norm(axis), radius + float(move[4]), scale, wall


def _covered(points, point, axis):
    """How many cells of azimuth and height hold points of the wall."""
    u = np.cross(axis, np.eye(3)[np.argmin(np.abs(axis))])
    u /= np.linalg.norm(u)
    away = points - point
    turn = np.arctan2(away @ np.cross(axis, u), away @ u)
    around = np.floor((turn + np.pi) / (2 * np.pi) * AZIMUTHS).astype(int) % AZIMUTHS
    level = np.floor((away @ axis) / LEVEL_MM).astype(int)
    return len(np.unique(around + 1000 * (level - level.min())))


@jit
def _averaged(normals, starts, others):
    out = np.empty_like(normals)
    for v in range(len(normals)):
        x, y, z = normals[v, 0], normals[v, 1], normals[v, 2]
        for k in range(starts[v], starts[v + 1]):
            o = others[k]
            x += normals[o, 0]
            y += normals[o, 1]
            z += normals[o, 2]
        length = np.sqrt(x * x + y * y + z * z)
        if length > 0:
            out[v, 0], out[v, 1], out[v, 2] = x / length, y / length, z / length
        else:
            out[v, 0], out[v, 1], out[v, 2] = 0.0, 0.0, 0.0
    return out
