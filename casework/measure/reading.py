"""Which surface does a file hold, or why can it not be read?"""

import os
from collections.abc import Collection
from pathlib import Path, PurePath

import numpy as np

from casework.measure.faults import MeshUnreadable, Note, note
from casework.measure.meshes import Mesh
from casework.measure.obj import read_obj
from casework.measure.ply import read_ply
from casework.measure.recognition import (
    BINARY_STL,
    OBJ,
    PLY,
    SWAPPED_STL,
    TEXT_STL,
    is_exactly_stl,
    recognise,
)
from casework.measure.stl import read_binary_stl, read_text_stl
from casework.measure.topology import SOUND, scan_faces

EXTENSIONS = {
    BINARY_STL: ".stl",
    SWAPPED_STL: ".stl",
    TEXT_STL: ".stl",
    PLY: ".ply",
    OBJ: ".obj",
}
SOME_FACES = 1000  # asked at a time whether one has an area
BYTE_ORDER_MARKS = (
    (b"\xff\xfe\0\0", "utf-32"),
    (b"\0\0\xfe\xff", "utf-32"),
    (b"\xff\xfe", "utf-16"),
    (b"\xfe\xff", "utf-16"),
    (b"\xef\xbb\xbf", "utf-8"),
)


def read_mesh(
    data: bytes | memoryview | str | os.PathLike,
    name: str | None = None,
    *,
    unit_factor: float = 1.0,
    companions: Collection[str] = (),
) -> Mesh:
    """Return the Mesh of an STL, PLY or OBJ file, decided by its content.

    data: the bytes, or the path of the file; name: the name used in sentences (the path's by
    default); unit_factor: what one unit of the file is in millimetres; companions: names of
    the files that came along, for the colour files an OBJ names.
    Raises MeshUnreadable, whose sentence names the file, the reason and what to do.
    """
    if not unit_factor > 0 or not np.isfinite(unit_factor):
        raise ValueError(f"unit_factor must be a positive number, not {unit_factor}")
    buf = as_array(data)
    name = name if name is not None else _name_of(data)
    if not len(buf):
        raise MeshUnreadable("empty_file", name=name)
    text, notes = (buf, ()) if is_exactly_stl(buf) else plain_text(buf, name)
    kind = recognise(text, name)
    notes = (*notes, *_about_the_name(name, kind))
    mesh = _read_as(kind, text, name, unit_factor, notes, companions)
    if not _has_area(mesh):
        raise MeshUnreadable("no_area", name=name, count=len(mesh.faces))
    return mesh


def _read_as(kind, text, name, unit_factor, notes, companions):
    if kind in (BINARY_STL, SWAPPED_STL):
        order = "<" if kind == BINARY_STL else ">"
        return read_binary_stl(text, name, unit_factor, order, notes)
    if kind == TEXT_STL:
        return read_text_stl(text, name, unit_factor, notes)
    if kind == PLY:
        return read_ply(text, name, unit_factor, notes)
    return read_obj(text, name, unit_factor, notes, companions)


def _has_area(mesh):
    """Is there a triangle with area? Nearly always among the first."""
    some = (mesh.faces[k : k + SOME_FACES] for k in range(0, len(mesh.faces), SOME_FACES))
    kinds = (scan_faces(mesh.vertices, faces, np.zeros(3))[0] for faces in some)
    return any((kind == SOUND).any() for kind in kinds)


def as_array(data: bytes | memoryview | str | os.PathLike) -> np.ndarray:
    """Return the bytes of data, or of the file at that path, as a uint8 array, not copied."""
    if isinstance(data, str | os.PathLike):
        if Path(data).stat().st_size == 0:
            return np.empty(0, np.uint8)
        return np.asarray(np.memmap(data, np.uint8, "r"))
    return np.frombuffer(data, np.uint8)


def plain_text(buf: np.ndarray, name: str) -> tuple[np.ndarray, tuple[Note, ...]]:
    """Return the bytes without a byte-order mark and not in UTF-16 or UTF-32, with a note."""
    head = buf[:64].tobytes()
    for mark, encoding in BYTE_ORDER_MARKS:
        if head.startswith(mark):
            if encoding == "utf-8":
                return buf[3:], (note("encoding", encoding="UTF-8 with a byte-order mark"),)
            return _decoded(buf, encoding, name)
    for encoding, starts in (("utf-16-le", 0), ("utf-16-be", 1)):
        letters = head[starts:24:2]
        if (
            len(letters) > 3
            and not any(head[1 - starts : 24 : 2])
            and all(c in b"\t\r\n" or 32 <= c < 127 for c in letters)
        ):
            return _decoded(buf, encoding, name)
    return buf, ()


def _decoded(buf, encoding, name):
    shown = encoding.upper()[:6]
    try:
        text = str(buf[: len(buf) - len(buf) % 2], encoding)
    except UnicodeDecodeError:
        raise MeshUnreadable("encoding", name=name, encoding=shown) from None
    plain = np.frombuffer(text.encode("utf-8"), np.uint8)
    return plain, (note("encoding", encoding=shown),)


def _name_of(data):
    return PurePath(data).name if isinstance(data, str | os.PathLike) else "The file"


def _about_the_name(name, kind):
    extension = PurePath(name).suffix
    if not extension or extension.lower() == EXTENSIONS[kind]:
        return ()
    shown = "STL" if EXTENSIONS[kind] == ".stl" else kind
    return (note("extension_disagrees", extension=extension, format=shown),)
