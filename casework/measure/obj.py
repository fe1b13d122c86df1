"""Which faces does an OBJ file (text) hold?"""

import re
from pathlib import PurePath

import numpy as np

from casework.measure.faults import MeshUnreadable, excerpt, note
from casework.measure.jit import jit
from casework.measure.meshes import Mesh, mesh_of_indexed
from casework.measure.numerals import (
    COMMA,
    GARBAGE,
    SLOW,
    is_blank,
    line_number,
    noted,
    number_at,
    read_noted,
    text_at,
    whole_line_at,
    without_padding,
)
from casework.measure.polygons import triangles_of

PLAIN_COLOUR = 128  # grey of a vertex without a colour of its own
DONE, WITH_COMMA, NO_NUMBER, BAD_INDEX, FEW_NUMBERS = range(5)
COLOUR_FILE = re.compile(rb"(?:^|[\r\n])[ \t]*mtllib[ \t]+([^\r\n]*)")
PASSED_OVER = (
    "vn",
    "vt",
    "vp",
    "l",
    "p",
    "o",
    "g",
    "s",
    "mg",
    "usemtl",
    "mtllib",
    "usemap",
    "maplib",
    "lod",
    "bevel",
    "c_interp",
    "d_interp",
    "shadow_obj",
    "trace_obj",
)


def read_obj(data: np.ndarray, name: str, factor: float = 1.0, notes=(), companions=()) -> Mesh:
    """Return the Mesh of an OBJ file (uint8 array).

    Faces of more than three corners are split. A negative index counts back from the line it
    stands in. Six numbers after a v are a place and a colour (0 to 1).
    """
    data = without_padding(data)
    sizes = count_obj(data)
    outcome, place, points, colours, corners, starts, slow, odd = scan_obj(data, *sizes)
    if outcome != DONE:
        raise _refusal(outcome, data, place, name)
    if not len(starts) - 1:
        if len(points):
            raise MeshUnreadable("points_only", name=name, points=len(points))
        raise MeshUnreadable("no_triangles", name=name)
    table = np.hstack([points, colours]) if len(slow) else None
    if table is not None:
        read_noted(data, slow, table.reshape(-1))
        points, colours = table[:, :3].copy(), table[:, 3:].copy()
    _refuse_bad_indices(corners, starts, len(points), name)
    faces, _, more = triangles_of(points, corners, starts, name)
    if not len(faces):
        raise MeshUnreadable("points_only", name=name, points=len(points))
    notes = (*notes, *more, *_missing_colour_files(data, companions), *_skipped(data, odd))
    return mesh_of_indexed(
        points, faces, name, kind="OBJ", factor=factor, colours=_as_bytes(colours), notes=notes
    )


def _refusal(outcome, data, place, name):
    line = line_number(data, place)
    if outcome == WITH_COMMA:
        return MeshUnreadable(
            "decimal_comma", name=name, line=line, text=excerpt(whole_line_at(data, place))
        )
    if outcome == NO_NUMBER:
        return MeshUnreadable(
            "bad_number", name=name, line=line, text=excerpt(text_at(data, place))
        )
    expected = "a vertex number not 0" if outcome == BAD_INDEX else "three numbers after v"
    return MeshUnreadable(
        "bad_line",
        name=name,
        line=line,
        expected=expected,
        text=excerpt(whole_line_at(data, place)),
    )


def _refuse_bad_indices(corners, starts, count, name):
    is_bad = (corners < 0) | (corners >= count)
    if is_bad.any():
        at = int(np.argmax(is_bad))
        raise MeshUnreadable(
            "index_out_of_range",
            name=name,
            thing="face",
            index=int(corners[at]) + 1,
            face=int(np.searchsorted(starts, at, side="right")),
            vertices=count,
            counted=" (counted from 1)",
        )


def _as_bytes(colours):
    is_known = np.isfinite(colours).all(axis=1)
    if not is_known.any():
        return None
    scale = 255.0 if colours[is_known].max() <= 1.0 else 1.0
    scaled = np.where(is_known[:, None], colours * scale, PLAIN_COLOUR)
    return np.clip(np.rint(scaled), 0, 255).astype(np.uint8)


def _missing_colour_files(data, companions):
    came = {PurePath(c.replace("\\", "/")).name.lower() for c in companions}
    named = {}
    raw = data.tobytes()
    raw = raw if b"mtllib" in raw else b""
    for match in COLOUR_FILE.finditer(raw):
        file = excerpt(match[1], 120)
        if file and PurePath(file.replace("\\", "/")).name.lower() not in came:
            named[file] = None
    return tuple(note("colour_file_missing", file=file) for file in named)


def _skipped(data, odd):
    """Return a note on the lines that begin with no word of the format read here."""
    count, first = 0, -1
    for place in odd.tolist():
        word = data[place : place + 12].tobytes().split(None, 1)[0]
        if word.decode("latin-1") not in PASSED_OVER:
            count, first = count + 1, place if first < 0 else first
    if not count:
        return ()
    return (
        note(
            "lines_skipped",
            count=count,
            line=line_number(data, first),
            text=excerpt(text_at(data, first)),
        ),
    )


@jit
def _next_line(buf, i):
    """Return the start of the next line; a backslash at the end of a line joins the two."""
    end = len(buf)
    while i < end:
        if buf[i] == 10 or buf[i] == 13:
            k = i - 1
            if k < 0 or buf[k] != 92:
                return i + 1
            if buf[i] == 13 and i + 1 < end and buf[i + 1] == 10:
                i += 1
        i += 1
    return end


@jit
def _next_token(buf, i):
    """Return the place of the next token of this line, or -1 at its end or at a comment."""
    end = len(buf)
    while i < end:
        c = buf[i]
        if c == 92 and i + 1 < end and (buf[i + 1] == 10 or buf[i + 1] == 13):
            i += 3 if buf[i + 1] == 13 and i + 2 < end and buf[i + 2] == 10 else 2
            continue
        if c == 10 or c == 13 or c == 35:
            return -1
        if not is_blank(c):
            return i
        i += 1
    return -1


@jit
def _token_stop(buf, i):
    end = len(buf)
    while (
        i < end
        and not is_blank(buf[i])
        and not (buf[i] == 92 and i + 1 < end and (buf[i + 1] == 10 or buf[i + 1] == 13))
    ):
        i += 1
    return i


@jit
def _kind_of_line(buf, i):
    """Say what begins at i: 1 a vertex, 2 a face, 3 vn, vt or vp, 0 something else."""
    if (
        i + 2 < len(buf)
        and buf[i] == 118
        and is_blank(buf[i + 2])
        and (buf[i + 1] == 110 or buf[i + 1] == 116 or buf[i + 1] == 112)
    ):
        return 3
    if i + 1 >= len(buf) or not (is_blank(buf[i + 1]) or buf[i + 1] == 92):
        return 0
    letter = buf[i] | 32
    return 1 if letter == 118 else 2 if letter == 102 else 0


@jit
def count_obj(buf):
    """Count vertices, faces and corners of faces, and the lines that are neither."""
    vertices, faces, corners, others = 0, 0, 0, 0
    i = 0
    while i < len(buf):
        at = _next_token(buf, i)
        if at >= 0:
            kind = _kind_of_line(buf, at)
            if kind == 1:
                vertices += 1
            elif kind == 2:
                faces += 1
                at = _next_token(buf, at + 1)
                while at >= 0:
                    corners += 1
                    at = _next_token(buf, _token_stop(buf, at))
            elif kind == 0:
                others += 1
        i = _next_line(buf, i)
    return vertices, faces, corners, others


@jit
def scan_obj(buf, vertices, faces, corner_count, others):
    """Read the lines: outcome, place, points, colours, corners from 0, starts, noted, odd.

    odd holds the places of the first lines (at most 1000) that are neither v nor f.
    """
    points = np.full((vertices, 3), np.nan)
    colours = np.full((vertices, 3), np.nan)
    corners = np.empty(corner_count, np.int64)
    starts = np.zeros(faces + 1, np.int64)
    odd = np.empty(min(others, 1000), np.int64)
    slow = np.empty((0, 3), np.int64)
    row = np.empty(8, np.float64)
    v, f, c, n, o, i = 0, 0, 0, 0, 0, 0
    while i < len(buf):
        at = _next_token(buf, i)
        kind = _kind_of_line(buf, at) if at >= 0 else -1
        if kind == 1:
            numbers, first_slow = 0, n
            at = _next_token(buf, at + 1)
            while at >= 0 and numbers < 8:
                stop = _token_stop(buf, at)
                row[numbers], _, how = number_at(buf, at, stop)
                if how == COMMA or how == GARBAGE:
                    outcome = WITH_COMMA if how == COMMA else NO_NUMBER
                    return outcome, at, points, colours, corners, starts, slow[:0], odd[:o]
                if how == SLOW:
                    slow = noted(slow, n, at, stop, numbers)
                    n += 1
                numbers += 1
                at = _next_token(buf, stop)
            if numbers < 3:
                return FEW_NUMBERS, i, points, colours, corners, starts, slow[:0], odd[:o]
            points[v] = row[:3]
            has_colour = numbers >= 6
            if has_colour:
                colours[v] = row[3:6]
            kept = first_slow
            for k in range(first_slow, n):
                if slow[k, 2] < (6 if has_colour else 3):
                    slow[kept] = slow[k]
                    slow[kept, 2] += v * 6
                    kept += 1
            n = kept
            v += 1
        elif kind == 2:
            at = _next_token(buf, at + 1)
            while at >= 0:
                stop = _token_stop(buf, at)
                index, good = _index_at(buf, at, stop)
                if not good:
                    return BAD_INDEX, at, points, colours, corners, starts, slow[:0], odd[:o]
                corners[c] = index - 1 if index > 0 else v + index
                c += 1
                at = _next_token(buf, stop)
            f += 1
            starts[f] = c
        elif kind == 0 and o < len(odd):
            odd[o] = at
            o += 1
        i = _next_line(buf, i)
    return DONE, 0, points, colours, corners, starts, slow[:n], odd[:o]


@jit
def _index_at(buf, i, stop):
    """Read the vertex number of a corner such as 7, -2, 7/1, 7//3 or 7/1/3."""
    negative = buf[i] == 45
    if negative or buf[i] == 43:
        i += 1
    value, digits = 0, 0
    while i < stop and 48 <= buf[i] <= 57 and digits < 18:
        value = value * 10 + np.int64(buf[i] - 48)
        digits += 1
        i += 1
    good = digits > 0 and value > 0 and (i == stop or buf[i] == 47)
    while i < stop and good:  # the numbers of texture and normal are not used, but are numbers
        good = 48 <= buf[i] <= 57 or buf[i] == 47 or buf[i] == 45 or buf[i] == 43
        i += 1
    return (-value if negative else value), good
