"""Which surface does a PLY file hold, binary of either byte order or text?"""

import numpy as np

from casework.measure.faults import MeshUnreadable, note
from casework.measure.meshes import Mesh, mesh_of_indexed
from casework.measure.plydata import binary_columns, cut_off, text_columns, text_values
from casework.measure.plyheader import Element, Header, ply_header
from casework.measure.polygons import triangles_of

COLOUR_NAMES = (
    ("red", "r", "diffuse_red"),
    ("green", "g", "diffuse_green"),
    ("blue", "b", "diffuse_blue"),
)


def read_ply(data: np.ndarray, name: str, factor: float = 1.0, notes=()) -> Mesh:
    """Return the Mesh of a PLY file (uint8 array).

    Elements and properties that carry no geometry are passed over by their declared size.
    """
    header = ply_header(data, name)
    _refuse_too_many(header, len(data) - header.body, name)
    vertex, face, stop = None, None, header.body
    for element, columns, _, behind in elements_of(data, header, name):
        stop = behind
        if element.name.lower() == "vertex" and vertex is None:
            vertex = element, columns
        elif element.name.lower() == "face" and face is None:
            face = element, columns
        elif element.name.lower() == "tristrips" and element.count:
            raise MeshUnreadable("ply_strips", name=name)
    points, colours = _vertices(vertex, name)
    if face is None or face[0].count == 0:
        code = "points_only" if len(points) else "no_triangles"
        raise MeshUnreadable(code, name=name, points=len(points))
    corners, starts, more = _corners(face, len(points), name)
    faces, owner, split = triangles_of(points, corners, starts, name)
    if not len(faces):
        raise MeshUnreadable("points_only", name=name, points=len(points))
    if len(data) > stop:
        more = (*more, note("extra_bytes", count=len(data) - stop))
    face_colours = _colours(*face)
    return mesh_of_indexed(
        points,
        faces,
        name,
        kind="PLY",
        factor=factor,
        colours=colours,
        face_colours=None if face_colours is None else face_colours[owner],
        notes=(*notes, *more, *split),
    )


def elements_of(data: np.ndarray, header: Header, name: str):
    """Yield (element, columns, where it starts, where it stops) in the order of the file.

    The places are bytes; in a text file an element starts with its first line.
    """
    if header.order:
        place = header.body
        for element in header.elements:
            start = place
            columns, place = binary_columns(data, place, element, header, name)
            yield element, columns, start, place
        return
    body, row = text_values(data, header.body, name), 0
    places = np.append(body[2], len(data))
    for element in header.elements:
        start = row
        columns, row = text_columns(data, body, row, element, name)
        yield element, columns, int(places[start]), int(places[row])


def corner_list(element: Element) -> int:
    """Return the place of the list of corners among the properties of a face, or -1.

    It is called vertex_indices or vertex_index; under another name it is the only list.
    """
    k = element.place("vertex_indices", "vertex_index")
    lists = [i for i, p in enumerate(element.properties) if p.count_code and p.code[0] != "f"]
    return k if k >= 0 else lists[0] if len(lists) == 1 else -1


def _refuse_too_many(header, room, name):
    """Refuse counts for which the file has no room, before anything is set aside for them."""
    for element in header.elements:
        least = element.least_bytes if header.order else 2 * len(element.properties)
        if least and element.count * least > room + 1:
            raise cut_off(name, element, f"room for at most {(room + 1) // least}")
        room -= least * element.count
        if not least and element.count and element.name.lower() in ("vertex", "face"):
            raise MeshUnreadable(
                "ply_header", name=name, problem=f"element {element.name} has no properties"
            )


def _vertices(found, name):
    if found is None:
        raise MeshUnreadable("ply_header", name=name, problem="it declares no vertex element")
    element, columns = found
    places = [element.place(axis) for axis in "xyz"]
    if min(places) < 0 or any(element.properties[k].count_code for k in places):
        raise MeshUnreadable(
            "ply_header", name=name, problem="its vertices lack a coordinate x, y or z"
        )
    is_single = all(element.properties[k].code == "f4" for k in places)
    points = np.empty((element.count, 3), np.float32 if is_single else np.float64)
    for axis, k in enumerate(places):
        points[:, axis] = columns[k]
    return points, _colours(element, columns)


def _corners(found, vertices, name):
    element, columns = found
    k, notes = corner_list(element), ()
    if k < 0:
        raise MeshUnreadable(
            "ply_header", name=name, problem="its faces lack the list vertex_indices"
        )
    if element.properties[k].name.lower() not in ("vertex_indices", "vertex_index"):
        notes = (note("list_name", list=element.properties[k].name[:40]),)
    if not element.properties[k].count_code:
        raise MeshUnreadable("ply_header", name=name, problem="vertex_indices is not a list")
    values, starts = columns[k]
    is_bad = ~((values >= 0) & (values < vertices))
    if values.dtype.kind == "f":
        is_bad |= values != np.floor(values)
    if is_bad.any():
        at = int(np.argmax(is_bad))
        raise MeshUnreadable(
            "index_out_of_range",
            name=name,
            thing="face",
            index=f"{values[at]:.15g}",
            face=int(np.searchsorted(starts, at, side="right")),
            vertices=vertices,
            counted=" (counted from 0)",
        )
    return values.astype(np.int64), starts, notes


def _colours(element: Element, columns):
    """Return (count, 3) uint8 colours where the element has red, green and blue, or None."""
    places = [element.place(*names) for names in COLOUR_NAMES]
    if min(places) < 0 or any(element.properties[k].count_code for k in places):
        return None
    colours = np.empty((element.count, 3), np.uint8)
    for channel, k in enumerate(places):
        values, code = columns[k], element.properties[k].code
        scale = {"u2": 255 / 65535, "f4": 255.0, "f8": 255.0}.get(code, 1.0)
        if code[0] == "f" and element.count and np.nanmax(values) > 1.0:
            scale = 1.0
        scaled = np.nan_to_num(np.asarray(values, np.float64) * scale)
        colours[:, channel] = np.clip(np.rint(scaled), 0, 255)
    return colours
