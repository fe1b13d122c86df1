"""Is a scanned or designed surface whole: size, holes, pieces, doubled and turned triangles?"""

import numpy as np

from casework.measure.distances import span_mm
from casework.measure.faults import note
from casework.measure.integrity_report import EdgeLengths, Hole, Integrity, Island
from casework.measure.meshes import Mesh
from casework.measure.solids import enclosed
from casework.measure.topology import (
    REPEATED,
    SOUND,
    THIN,
    edges_of,
    groups,
    lengths_of,
    pieces,
    repeats,
    scan_faces,
)
from casework.measure.units import unit_suggestions
from casework.measure.winding import turned

METHOD = "integrity 1"
LISTED = 50  # holes and pieces described one by one; the counts are of all of them
__all__ = [
    "METHOD",
    "EdgeLengths",
    "Hole",
    "Integrity",
    "Island",
    "inspect",
    "unit_suggestions",
]


def inspect(mesh: Mesh, *, kind: str | None = None, listed: int = LISTED) -> Integrity:
    """Return the Integrity of a Mesh.

    kind: 'full arch' or 'segment' to have the unit judged by the size; listed: how many holes
    and islands are described one by one, the largest first.
    """
    vertices = mesh.vertices
    kinds, areas, volumes = scan_faces(vertices, mesh.faces, _middle(vertices))
    kept, edges, is_repeat = _kept(mesh.faces, kinds, len(vertices))
    degenerate = (kinds != SOUND) & ~is_repeat
    if kept is None:
        faces = mesh.faces
    else:
        faces, kinds, areas, volumes = (x[kept] for x in (mesh.faces, kinds, areas, volumes))
    group, count = groups(
        np.concatenate([faces[:, 0], faces[:, 1]]),
        np.concatenate([faces[:, 1], faces[:, 2]]),
        len(vertices),
    )
    is_turned, is_orientable = np.zeros(len(faces), bool), True
    if edges.crossed_count:
        is_turned, is_orientable = turned(faces, len(vertices))
        volumes = np.where(is_turned, -volumes, volumes)
    triangles, area, six_volumes, bounds = pieces(
        vertices, faces, kinds, areas, volumes, group, count
    )
    is_closed = bool(len(faces)) and not edges.unsound_count
    volume, inside_out = None, ()
    if is_closed and is_orientable:
        volume, inside_out = enclosed(
            vertices, faces, is_turned, group[faces[:, 0]], six_volumes / 6, bounds
        )
    hole_count, holes = _holes(vertices, edges, listed)
    low, high = (
        (bounds[:, 0].min(axis=0), bounds[:, 1].max(axis=0))
        if count
        else (vertices.min(axis=0), vertices.max(axis=0))
    )
    extents = _three(high - low)
    islands = _islands(triangles, area, bounds, listed)
    facts = dict(
        method=METHOD,
        format=mesh.format,
        triangles_in_file=len(mesh.faces),
        triangles=int(np.count_nonzero(kinds == SOUND)),
        vertices=len(vertices),
        extents_mm=extents,
        bounds_mm=(_three(low), _three(high)),
        hole_count=hole_count,
        holes=holes,
        border_edges=len(edges.border),
        island_count=count,
        islands=islands,
        smallest_island_triangles=int(triangles.min()) if count else 0,
        non_manifold_edges=edges.non_manifold_count,
        duplicate_triangles=int(np.count_nonzero(is_repeat)),
        degenerate_triangles=int(np.count_nonzero(degenerate)),
        turned_triangles=int(np.count_nonzero(is_turned)),
        is_closed=is_closed,
        is_orientable=is_orientable,
        is_consistently_wound=not edges.crossed_count,
        is_inside_out=bool(inside_out) if volume is not None else None,
        inside_out_islands=len(inside_out),
        edge_length_mm=_edge_lengths(vertices, edges),
        area_mm2=float(area.sum()),
        volume_mm3=volume,
        no_volume_because=_no_volume_because(volume, faces, edges),
        has_colour=mesh.colours is not None or mesh.face_colours is not None,
        unit=_unit(kind, extents, islands, area),
    )
    return Integrity(**facts, notes=(*mesh.notes, *_remarks(facts)))


def _kept(faces, kinds, vertex_count):
    """Choose the faces that make the surface (None: all), their edges, which are repeats.

    A thin triangle of three different vertices is left out, unless the surface would then have
    more edges that are not shared by exactly two triangles: it may hold two rows together.
    """
    is_repeat = np.zeros(len(faces), bool)
    base = kinds != REPEATED
    is_whole = bool(base.all())
    edges = edges_of(faces if is_whole else faces[base], vertex_count)
    if edges.repeated.any():
        is_repeat = repeats(faces, base & edges.repeated[faces.min(axis=1)])
        base &= ~is_repeat
        is_whole = False
        edges = edges_of(faces[base], vertex_count)
    is_thin = base & (kinds == THIN)
    if is_thin.any():
        without = base & ~is_thin
        fewer = edges_of(faces[without], vertex_count)
        if fewer.unsound_count < edges.unsound_count:
            return without, fewer, is_repeat
    return (None if is_whole else base), edges, is_repeat


def _holes(vertices, edges, listed):
    border = edges.border
    low, high = edges.low[border], edges.high[border]
    group, count = groups(low, high, len(vertices))
    mine = group[low]
    a, b = vertices[low], vertices[high]
    lengths = lengths_of(vertices, low, high)
    edge_counts = np.bincount(mine, minlength=count)
    length = np.bincount(mine, lengths, count)
    with np.errstate(invalid="ignore", divide="ignore"):
        centres = (
            np.stack(
                [np.bincount(mine, lengths * (a[:, x] + b[:, x]) / 2, count) for x in range(3)],
                axis=1,
            )
            / length[:, None]
        )
    holes = []
    for g in np.argsort(-length, kind="stable")[:listed]:
        own = np.unique(np.concatenate([low[mine == g], high[mine == g]]))
        holes.append(
            Hole(
                int(edge_counts[g]),
                float(length[g]),
                span_mm(vertices[own]),
                _three(centres[g]),
            )
        )
    return int(count), tuple(holes)


def _islands(triangles, area, bounds, listed):
    order = np.lexsort((-triangles, -area))[:listed]
    return tuple(
        Island(
            int(triangles[g]),
            float(area[g]),
            _three(bounds[g, 1] - bounds[g, 0]),
            _three(bounds[g].mean(axis=0)),
        )
        for g in order
    )


def _unit(kind, extents, islands, area):
    """Judge the unit by the main piece where it has nearly all the area, else by the whole."""
    if not kind:
        return None
    if islands and islands[0].area_mm2 >= 0.9 * area.sum():
        extents = islands[0].extents_mm
    return unit_suggestions(extents, kind)


def _edge_lengths(vertices, edges):
    if not len(edges.low):
        return None
    lengths = lengths_of(vertices, edges.low, edges.high)
    longest = float(lengths.max())
    median, p95 = (_quantile(lengths, share) for share in (0.5, 0.95))
    return EdgeLengths(median, p95, longest)


def _quantile(values, share):
    """Return a quantile, linear between neighbours; the values are rearranged."""
    place = share * (len(values) - 1)
    k = int(place)
    values.partition(k)
    above = values[k + 1 :].min() if place > k else values[k]
    return float(values[k] + (place - k) * (above - values[k]))


def _no_volume_because(volume, faces, edges):
    if volume is not None:
        return ""
    if not len(faces):
        return "no triangle has an area"
    if len(edges.border):
        return "the surface is open"
    if edges.non_manifold_count:
        return "edges belong to more than two triangles"
    return "the triangles cannot all be turned the same way"


def _remarks(facts):
    """Return the notes on what a person should know before the surface is used."""
    found = []
    for code in (
        "duplicate_triangles",
        "degenerate_triangles",
        "turned_triangles",
        "non_manifold_edges",
    ):
        if facts[code]:
            found.append(note(code, count=facts[code]))
    if not facts["triangles"]:
        found.append(note("nothing_left"))
    if not facts["is_orientable"]:
        found.append(note("not_orientable"))
    if facts["is_inside_out"]:
        found.append(
            note("inside_out", count=facts["inside_out_islands"], pieces=facts["island_count"])
        )
    if facts["hole_count"]:
        found.append(note("open_surface", count=facts["hole_count"]))
    if facts["island_count"] > 1:
        found.append(
            note(
                "several_pieces",
                count=facts["island_count"],
                smallest=facts["smallest_island_triangles"],
                main=facts["islands"][0].triangle_count if facts["islands"] else 0,
            )
        )
    return found


def _middle(vertices):
    return (vertices.min(axis=0) + vertices.max(axis=0)) / 2


def _three(values):
    return tuple(float(x) for x in values)
