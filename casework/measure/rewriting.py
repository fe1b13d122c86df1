"""Which bytes of a mesh file may leave the house, without the names it carries?"""

import re

import numpy as np

from casework.measure.jit import jit
from casework.measure.meshes import geometry_digest
from casework.measure.numerals import without_padding
from casework.measure.ply import corner_list, elements_of
from casework.measure.plydata import walk_records
from casework.measure.plyheader import ply_header
from casework.measure.reading import as_array, plain_text, read_mesh
from casework.measure.recognition import (
    BINARY_STL,
    PLY,
    SWAPPED_STL,
    TEXT_STL,
    is_exactly_stl,
    recognise,
)
from casework.measure.stl import HEAD_BYTES, RECORD_BYTES, count_declared

__all__ = ["geometry_digest", "without_names"]

NEUTRAL_HEADER = b"surface in triangles, header text removed"
SURFACE_ELEMENTS = ("vertex", "face", "edge")
PLAIN_PROPERTIES = frozenset(
    "x y z nx ny nz red green blue alpha r g b a diffuse_red diffuse_green diffuse_blue "
    "confidence quality intensity value curvature radius s t u v texture_u texture_v texcoord "
    "texnumber flags vertex_indices vertex_index vertex1 vertex2 material_index".split()
)
SOLID_NAME = re.compile(rb"[^\r\n]*")
OBJ_NUMBERS = rb"(?:v|vn|vt|vp|f|l|p)(?:[ \t]+[-+0-9.eE/]+)+[ \t]*\r?"
ODD_OBJ_LINE = re.compile(rb"^(?!" + OBJ_NUMBERS + rb"$)([^\n]*)$", re.M | re.I)
PLAIN_OBJ_LINE = re.compile(OBJ_NUMBERS + rb"|s[ \t]+(?:\d+|off)[ \t]*\r?", re.I)


def without_names(data: bytes | memoryview, name: str) -> tuple[bytes, tuple[str, ...]]:
    """Return a copy of a mesh file without names, and in words what was taken out.

    Header text, comments, and the names of solids, objects, groups, materials and unknown
    properties go; whatever stands in no triangle goes. Coordinates, colours and attribute
    bytes stay as they are written; the triangles are proven to be the same before returning.
    Raises MeshUnreadable as read_mesh does.
    """
    before = geometry_digest(read_mesh(data, name))
    buf = as_array(data)
    text = buf if is_exactly_stl(buf) else plain_text(buf, name)[0]
    kind = recognise(text, name)
    if kind in (BINARY_STL, SWAPPED_STL):
        made, removed = _binary_stl(text, "<" if kind == BINARY_STL else ">")
    elif kind == TEXT_STL:
        made, removed = _text_stl(text)
    elif kind == PLY:
        made, removed = _ply(text, name)
    else:
        made, removed = _obj(text)
    if geometry_digest(read_mesh(made, name)) != before:
        raise RuntimeError(f"{name}: taking the names out changed the geometry")
    return made, removed


def _binary_stl(data, order):
    header = data[:80].tobytes()
    colour = header.find(b"COLOR=")  # four bytes behind it rule how the attributes are read
    kept = b" " + header[colour : colour + 10] if 0 <= colour <= 70 else b""
    neutral = (NEUTRAL_HEADER + kept).ljust(80, b" ")
    stop = HEAD_BYTES + RECORD_BYTES * count_declared(data, order)
    removed = ()
    if header != neutral and header.strip(b" \0"):
        removed += ("the text of the 80-byte header",)
    if len(data) > stop:
        removed += (f"{len(data) - stop} bytes after the last triangle",)
    return neutral + data[80:stop].tobytes(), removed


def _text_stl(data):
    raw = data.tobytes()
    lower, parts, done, names = raw.lower(), [], 0, 0
    at = lower.find(b"solid")
    while at >= 0:
        line_end = SOLID_NAME.match(raw, at + 5).end()
        name = raw[at + 5 : line_end].strip()
        names += name not in (b"", b"part")
        parts += (raw[done:at], b"solid part")
        done = line_end
        at = lower.find(b"solid", done)
    return b"".join([*parts, raw[done:]]), ((f"names of solids ({names})",) if names else ())


def _ply(data, name):
    header = ply_header(data, name)
    parts, kept, blanked, behind = [], [], 0, header.body
    for element, columns, start, stop in elements_of(data, header, name):
        behind = stop
        if element.name.lower() not in SURFACE_ELEMENTS:
            continue
        kept.append(element)
        piece = np.array(data[start:stop])
        del columns
        hidden = _hidden_lists(element)
        if header.order and element.count and hidden.any():
            blanked += _blank_lists(piece, element, hidden, header.order)
        parts.append(piece.tobytes())
    lines, renamed = _ply_lines(header, kept)
    dropped = len(header.elements) - len(kept)
    comments = sum(
        line.split(None, 1)[:1] != []
        and line.split(None, 1)[0].lower() in (b"comment", b"obj_info")
        for line in header.lines
    )
    said = (
        (comments, "comment lines"),
        (dropped, "kinds of record that carry no surface"),
        (renamed, "names of properties"),
        (blanked, "lists of characters"),
        (len(data) - behind, "bytes after the last record"),
    )
    removed = tuple(f"{what} ({count})" for count, what in said if count)
    end = header.line_end or b"\n"
    if header.order and end == b"\r" and parts and parts[0][:1] == b"\n":
        end = b"\n"
    return end.join(lines) + end + b"".join(parts), removed


def _ply_lines(header, kept):
    fmt = next(
        line
        for line in header.lines
        if line.split()[:1] and line.split()[0].lower() == b"format"
    )
    lines, renamed = [b"ply", fmt.strip()], 0
    for element in kept:
        lines.append(b"element %s %d" % (element.name.lower().encode(), element.count))
        corners = corner_list(element) if element.name.lower() == "face" else -1
        for k, p in enumerate(element.properties):
            shown = p.name.lower()
            if k == corners and shown not in ("vertex_indices", "vertex_index"):
                shown, renamed = "vertex_indices", renamed + 1
            elif shown not in PLAIN_PROPERTIES:
                neutral = re.fullmatch(r"value_\d+", shown)
                shown, renamed = (shown, renamed) if neutral else (f"value_{k}", renamed + 1)
            words = [
                "property",
                *(["list", _word(p.count_code)] if p.count_code else []),
                _word(p.code),
                shown,
            ]
            lines.append(" ".join(words).encode())
    return [*lines, b"end_header"], renamed


def _word(code):
    return {
        "i1": "char",
        "u1": "uchar",
        "i2": "short",
        "u2": "ushort",
        "i4": "int",
        "u4": "uint",
        "f4": "float",
        "f8": "double",
        "i8": "int64",
        "u8": "uint64",
    }[code]


def _hidden_lists(element):
    """Say which properties are lists of single bytes that are not corners: they may be text."""
    corners = corner_list(element) if element.name.lower() == "face" else -1
    return np.array(
        [
            bool(p.count_code) and p.code[1] == "1" and k != corners
            for k, p in enumerate(element.properties)
        ],
        bool,
    )


def _blank_lists(piece, element, hidden, order):
    spec = np.array(
        [
            [
                int(p.code[1]),
                int(p.count_code[1]) if p.count_code else 0,
                p.count_code[:1] == "i",
            ]
            for p in element.properties
        ],
        np.int64,
    )
    offsets, counts, _, _ = walk_records(piece, 0, element.count, spec, order == ">")
    return sum(_zero(piece, offsets[:, k], counts[:, k]) for k in np.flatnonzero(hidden))


@jit
def _zero(piece, offsets, counts):
    """Blank the items of one list; say whether there was anything to blank."""
    found = False
    for r in range(len(offsets)):
        for at in range(offsets[r], offsets[r] + counts[r]):
            found = found or piece[at] != 0
            piece[at] = 0
    return found


def _obj(data):
    raw = re.sub(rb"\\(\r\n|\n|\r)", b" ", without_padding(data).tobytes())
    if b"\r" in raw:
        raw = re.sub(rb"\r(?!\n)", b"\n", raw)
    names: dict[tuple[bytes, bytes], bytes] = {}
    counts = dict.fromkeys(
        ("comments", "names", "colour files", "other lines", "other texts"), 0
    )

    def neutral(match):
        line = match[1]
        end = b"\r" if line.endswith(b"\r") else b""
        body, _, comment = line.partition(b"#")
        body = body.strip()
        counts["comments"] += bool(comment.strip())
        if not body or PLAIN_OBJ_LINE.fullmatch(body):
            return body + end
        word, *tokens = body.split()
        if word.lower() in (b"v", b"f"):
            plain = _numbers_only(word, tokens)
            counts["other texts"] += plain != body
            return plain + end
        rest = b" ".join(tokens)
        plain = {b"o": b"part", b"g": b"group", b"usemtl": b"material"}.get(word)
        if plain:
            number = len([key for key in names if key[0] == word]) + 1
            shown = names.setdefault((word, rest), b"%s%d" % (plain, number))
            counts["names"] += rest != shown and rest != b""
            return word + b" " + shown + end
        counts["colour files" if word == b"mtllib" else "other lines"] += 1
        return end

    made = ODD_OBJ_LINE.sub(neutral, raw).rstrip() + b"\n"
    said = {
        "comments": "comment lines",
        "names": "names of objects, groups or materials",
        "colour files": "names of colour files",
        "other lines": "lines of another kind",
        "other texts": "texts beside numbers",
    }
    return made, tuple(f"{said[key]} ({n})" for key, n in counts.items() if n)


def _numbers_only(word, tokens):
    """Write a v or f line with what the reader takes from it, and nothing beside."""
    pattern = rb"[-+\d/]+" if word.lower() == b"f" else rb"[-+\d.eE]+"
    return b" ".join([word, *(token for token in tokens if re.fullmatch(pattern, token))])
