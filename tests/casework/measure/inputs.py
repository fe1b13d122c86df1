"""How are bodies written as mesh files, with every habit that was met in practice?"""

import struct

import numpy as np

PLY_CODES = {
    "char": "i1",
    "uchar": "u1",
    "short": "i2",
    "ushort": "u2",
    "int": "i4",
    "uint": "u4",
    "float": "f4",
    "double": "f8",
    "uint8": "u1",
    "int32": "i4",
}
BOX_QUADS = ((0, 1, 3, 2), (4, 6, 7, 5), (0, 4, 5, 1), (2, 3, 7, 6), (0, 2, 6, 4), (1, 5, 7, 3))


def normals(vertices, faces):
    corners = np.asarray(vertices)[np.asarray(faces)]
    cross = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    length = np.linalg.norm(cross, axis=1, keepdims=True)
    return np.where(length > 0, cross / np.where(length > 0, length, 1), 0.0)


def stl_binary(vertices, faces, header=b"test body", attributes=None, count=None, order="<"):
    layout = [("n", order + "f4", 3), ("t", order + "f4", (3, 3)), ("a", order + "u2")]
    records = np.zeros(len(faces), layout)
    if len(faces):
        records["n"] = normals(vertices, faces)
        records["t"] = np.asarray(vertices)[np.asarray(faces)]
    if attributes is not None:
        records["a"] = attributes
    fill = b" " if header.startswith(b"solid") else b"\0"
    declared = len(faces) if count is None else count
    return header[:80].ljust(80, fill) + struct.pack(order + "I", declared) + records.tobytes()


def stl_text(vertices, faces, name="body", number="{:.6e}", gap=" ", eol="\n", indent="  "):
    lines = [f"solid {name}"]
    for normal, face in zip(normals(vertices, faces), np.asarray(faces), strict=True):
        lines.append(f"{indent}facet normal " + gap.join(number.format(x) for x in normal))
        lines.append(f"{indent * 2}outer loop")
        for corner in face:
            place = gap.join(number.format(x) for x in vertices[corner])
            lines.append(f"{indent * 3}vertex {place}")
        lines += [f"{indent * 2}endloop", f"{indent}endfacet"]
    return eol.join([*lines, f"endsolid {name}"]) + eol


def ply_binary(
    vertices,
    faces,
    order="<",
    eol="\n",
    coordinate="float",
    more=(),
    face_more=(),
    count="uchar",
    index="int",
    corners="vertex_indices",
    comments=(),
    elements=(),
    has_faces=True,
):
    """more and face_more: (type, name, values); type ('list', count, item) for lists.

    elements: (header lines, bytes) put between the vertices and the faces.
    """
    form = {"<": "binary_little_endian", ">": "binary_big_endian"}[order]
    head = ["ply", f"format {form} 1.0", *(f"comment {c}" for c in comments)]
    head += [f"element vertex {len(vertices)}"]
    head += [f"property {coordinate} {axis}" for axis in "xyz"]
    head += _declared(more)
    for lines, _ in elements:
        head += lines
    if has_faces:
        head += [f"element face {len(faces)}", f"property list {count} {index} {corners}"]
        head += _declared(face_more)
    body = [eol.join([*head, "end_header"]).encode() + eol.encode()]
    for k, vertex in enumerate(vertices):
        body.append(_packed(vertex, coordinate, order))
        body += _values(more, k, order)
    body += [raw for _, raw in elements]
    for k, face in enumerate(faces if has_faces else ()):
        body += [_packed(len(face), count, order), _packed(face, index, order)]
        body += _values(face_more, k, order)
    return b"".join(body)


def _declared(more):
    return [
        f"property {' '.join(kind) if isinstance(kind, tuple) else kind} {name}"
        for kind, name, _ in more
    ]


def _values(more, k, order):
    for kind, _, values in more:
        if isinstance(kind, tuple):
            yield _packed(len(values[k]), kind[1], order)
            yield _packed(values[k], kind[2], order)
        else:
            yield _packed(values[k], kind, order)


def _packed(values, kind, order):
    return np.asarray(values, order + PLY_CODES[kind]).tobytes()


def ply_text(vertices, faces, eol="\n", number="{:.9g}", extra_head=(), extra_vertex=""):
    lines = [
        "ply",
        "format ascii 1.0",
        f"element vertex {len(vertices)}",
        *(f"property float {axis}" for axis in "xyz"),
        *extra_head,
        f"element face {len(faces)}",
        "property list uchar int vertex_indices",
        "end_header",
    ]
    lines += [" ".join(number.format(x) for x in v) + extra_vertex for v in vertices]
    lines += [f"{len(f)} " + " ".join(str(int(i)) for i in f) for f in faces]
    return eol.join(lines) + eol


def obj_text(vertices, faces, head="", number="{:.9g}", after_vertex="", eol="\n"):
    lines = ["v " + " ".join(number.format(x) for x in v) + after_vertex for v in vertices]
    lines += ["f " + " ".join(str(int(i) + 1) for i in f) for f in faces]
    return head + eol.join(lines) + eol


def glb(vertices, faces):
    places = np.asarray(vertices, "<f4").tobytes()
    indices = np.asarray(faces, "<u2").tobytes()
    blob = places + indices + b"\0" * (-len(places + indices) % 4)
    head = b'{"asset":{"version":"2.0"}} '
    return (
        struct.pack("<4sII", b"glTF", 2, 28 + len(head) + len(blob))
        + struct.pack("<I4s", len(head), b"JSON")
        + head
        + struct.pack("<I4s", len(blob), b"BIN\0")
        + blob
    )
