"""Which triangles does an STL file hold, binary or text?"""

import numpy as np

from casework.measure.faults import MeshUnreadable, excerpt, note
from casework.measure.jit import jit
from casework.measure.meshes import Mesh, mesh_of_corners
from casework.measure.numerals import (
    COMMA,
    GARBAGE,
    OK,
    SLOW,
    is_blank,
    line_number,
    noted,
    number_at,
    read_noted,
    skip_blanks,
    skip_line,
    text_at,
    whole_line_at,
    without_padding,
)

HEAD_BYTES, RECORD_BYTES = 84, 50
PLAIN_COLOUR = 128  # grey of a triangle without a colour of its own

(
    _FACET,
    _NORMAL,
    _OUTER,
    _LOOP,
    _OUTERLOOP,
    _VERTEX,
    _ENDLOOP,
    _ENDFACET,
    _SOLID,
    _ENDSOLID,
    _END,
) = (
    np.frombuffer(word, np.uint8)
    for word in (
        b"facet",
        b"normal",
        b"outer",
        b"loop",
        b"outerloop",
        b"vertex",
        b"endloop",
        b"endfacet",
        b"solid",
        b"endsolid",
        b"end",
    )
)

NOTHING, SOLID, NORMAL, FACET, LOOP, VERTEX, ENDLOOP, ENDFACET, ENDSOLID = range(9)
DONE, UNEXPECTED, ENDED, WITH_COMMA, NO_NUMBER, CORNERS = 0, 1, 2, 3, 4, 5
EXPECTED = (
    "“solid”",
    "“facet” or “endsolid”",
    "“outer loop”",
    "“vertex”",
    "“endloop”",
    "“endfacet”",
    "“solid”",
)
WHERE = ("outside a solid", "without “endsolid”") + ("inside a facet",) * 4


def record_type(order: str = "<") -> np.dtype:
    """Return the layout of one triangle of a binary STL: 50 bytes, no padding."""
    return np.dtype(
        [
            ("normal", order + "f4", 3),
            ("corners", order + "f4", (3, 3)),
            ("attribute", order + "u2"),
        ]
    )


def count_declared(data: np.ndarray, order: str = "<") -> int:
    """Return the number of triangles written behind the 80-byte header."""
    return int(data[80:84].view(order + "u4")[0])


def read_binary_stl(
    data: np.ndarray, name: str, factor: float = 1.0, order: str = "<", notes=()
) -> Mesh:
    """Return the Mesh of a binary STL (uint8 array) whose declared triangles are all there."""
    count = count_declared(data, order)
    stop = HEAD_BYTES + RECORD_BYTES * count
    if len(data) < stop:
        raise MeshUnreadable(
            "cut_off",
            name=name,
            declared=count,
            things="triangles",
            held=(len(data) - HEAD_BYTES) // RECORD_BYTES,
        )
    if count == 0 and len(data) > HEAD_BYTES:
        raise MeshUnreadable("count_is_zero", name=name, bytes=len(data) - HEAD_BYTES)
    if count == 0:
        raise MeshUnreadable("no_triangles", name=name)
    if len(data) > stop:
        notes = (*notes, note("extra_bytes", count=len(data) - stop))
    if order == ">":
        notes = (*notes, note("byte_order_reversed"))
    records = data[HEAD_BYTES:stop].view(record_type(order))
    colours, colour_notes = attribute_colours(records["attribute"], bytes(data[:80]))
    corners = np.ascontiguousarray(records["corners"], np.float32)
    return mesh_of_corners(
        corners,
        name,
        kind="binary STL",
        factor=factor,
        face_colours=colours,
        notes=(*notes, *colour_notes),
    )


def attribute_colours(attributes: np.ndarray, header: bytes):
    """Return (n, 3) uint8 colours from the attribute bytes, or None, and a tuple of notes.

    Two customs, neither part of the format: without a colour in the header bit 15 says that
    the triangle has a colour, blue in the low five bits; with “COLOR=” and four bytes in the
    header bit 15 says that the header's colour holds, red in the low five bits.
    """
    at = header.find(b"COLOR=")
    if at >= 0 and at + 10 <= len(header):
        own, shifts = (attributes & 0x8000) == 0, (0, 5, 10)
        plain = np.frombuffer(header[at + 6 : at + 9], np.uint8)
    else:
        if not attributes.any():
            return None, ()
        own, shifts = (attributes & 0x8000) != 0, (10, 5, 0)
        plain = np.full(3, PLAIN_COLOUR, np.uint8)
        if not own.any():
            return None, (note("attribute_bytes"),)
    fives = np.stack([(attributes >> shift) & 31 for shift in shifts], axis=1)
    colours = np.rint(fives * (255 / 31)).astype(np.uint8)
    colours[~own] = plain
    return colours, ()


def read_text_stl(data: np.ndarray, name: str, factor: float = 1.0, notes=()) -> Mesh:
    """Return the Mesh of a text STL (uint8 array, one byte a character for the keywords)."""
    data = without_padding(data)
    outcome, place, state, count, solids, corners, slow = scan_text_stl(data, 0, len(data))
    if outcome != DONE:
        raise _refusal(outcome, data, place, state, count // 3, name)
    if count == 0:
        raise MeshUnreadable("no_triangles", name=name)
    corners = corners[:count]
    read_noted(data, slow, corners.reshape(-1))
    if solids > 1:
        notes = (*notes, note("several_solids", count=solids))
    if solids == 0:
        notes = (*notes, note("no_solid_line"))
    return mesh_of_corners(
        corners.reshape(-1, 3, 3), name, kind="text STL", factor=factor, notes=notes
    )


def _refusal(outcome, data, place, state, held, name):
    line = line_number(data, place)
    if outcome == ENDED:
        return MeshUnreadable(
            "cut_off_text", name=name, line=line, held=held, where=WHERE[state]
        )
    if outcome == WITH_COMMA:
        return MeshUnreadable(
            "decimal_comma", name=name, line=line, text=excerpt(whole_line_at(data, place))
        )
    if outcome == NO_NUMBER:
        return MeshUnreadable(
            "bad_number", name=name, line=line, text=excerpt(text_at(data, place))
        )
    if outcome == CORNERS:
        return MeshUnreadable("facet_corners", name=name, line=line)
    return MeshUnreadable(
        "bad_line",
        name=name,
        line=line,
        text=excerpt(text_at(data, place)),
        expected=EXPECTED[state],
    )


@jit
def word_at(buf, i, end, word):
    """Say whether the token at i is this word, in upper or lower case."""
    n = len(word)
    if i + n > end or (i + n < end and not is_blank(buf[i + n])):
        return False
    for k in range(n):
        if (buf[i + k] | 32) != word[k]:
            return False
    return True


@jit
def ending(buf, i, end, whole, part):
    """Return the place behind 'endloop' or 'end loop' at i, or -1 where it is neither."""
    if word_at(buf, i, end, whole):
        return i + len(whole)
    if word_at(buf, i, end, _END):
        j = skip_blanks(buf, i + 3, end)
        if word_at(buf, j, end, part):
            return j + len(part)
    return -1


@jit
def three_numbers(buf, i, end, corners, row, slow, noted_count):
    """Read three numerals into a row: place behind, place of the last one, how, noted."""
    at, how = i, OK
    for k in range(3):
        i = skip_blanks(buf, i, end)
        at = i
        value, i, how = number_at(buf, i, end)
        if i >= end or how == COMMA or how == GARBAGE:
            break
        if how == SLOW:
            slow = noted(slow, noted_count, at, i, row * 3 + k)
            noted_count += 1
        corners[row, k] = value
    return i, at, how, slow, noted_count


@jit
def keyword(buf, i, end, state):
    """Return what the word at i means in this state (0 nothing), and the place behind it."""
    if state == 0 and word_at(buf, i, end, _SOLID):
        return SOLID, skip_line(buf, i, end)
    if state <= 1 and word_at(buf, i, end, _FACET):
        j = skip_blanks(buf, i + 5, end)
        return (NORMAL, j + 6) if word_at(buf, j, end, _NORMAL) else (FACET, j)
    if state == 1:
        j = ending(buf, i, end, _ENDSOLID, _SOLID)
        return (ENDSOLID, skip_line(buf, j, end)) if j >= 0 else (NOTHING, i)
    if state == 2:
        if word_at(buf, i, end, _OUTERLOOP):
            return LOOP, i + 9
        if word_at(buf, i, end, _OUTER):
            j = skip_blanks(buf, i + 5, end)
            if word_at(buf, j, end, _LOOP):
                return LOOP, j + 4
    if 3 <= state <= 4:
        if word_at(buf, i, end, _VERTEX):
            return VERTEX, i + 6
        j = ending(buf, i, end, _ENDLOOP, _LOOP)
        if j >= 0:
            return ENDLOOP, j
    if state == 5:
        j = ending(buf, i, end, _ENDFACET, _FACET)
        if j >= 0:
            return ENDFACET, j
    return NOTHING, i


@jit
def scan_text_stl(buf, i, end):
    """Walk through the text: outcome, place, state, corners read, solids, corners, noted.

    The state says what may come next: 0 a solid, 1 a facet or the solid's end, 2 the loop,
    3 a vertex, 4 the loop's end, 5 the facet's end. A facet is taken in state 0 too, for
    files whose solid line is missing (solids stays 0 then).
    """
    corners = np.empty(((end - i) // 12 + 4, 3), np.float64)
    slow = np.empty((0, 3), np.int64)
    noted_count, count, solids, state, in_loop = 0, 0, 0, 0, 0
    while True:
        i = skip_blanks(buf, i, end)
        if i >= end:
            if state == 0 or (solids == 0 and state == 1):
                return DONE, i, state, count, solids, corners, slow[:noted_count]
            return ENDED, end - 1, state, count - in_loop, solids, corners, slow[:0]
        at = i
        word, i = keyword(buf, i, end, state)
        if word == NOTHING:
            cut = state != 0 and skip_line(buf, at, end) >= end
            outcome = ENDED if cut else UNEXPECTED
            return outcome, at, state, count - in_loop, solids, corners, slow[:0]
        if word == NORMAL or word == VERTEX:
            if state == 4:
                return CORNERS, at, state, count, solids, corners, slow[:0]
            kept = noted_count
            i, at, how, slow, noted_count = three_numbers(
                buf, i, end, corners, count, slow, noted_count
            )
            if word == NORMAL:
                noted_count = kept
            if i < end and (how == COMMA or how == GARBAGE):
                outcome = WITH_COMMA if how == COMMA else NO_NUMBER
                return outcome, at, state, count, solids, corners, slow[:0]
        if word == SOLID:
            solids += 1
            state = 1
        elif word == ENDSOLID:
            state = 0
        elif word == NORMAL or word == FACET:
            state, in_loop = 2, 0
        elif word == LOOP:
            state = 3
        elif word == VERTEX:
            count += 1
            in_loop += 1
            state = 4 if in_loop == 3 else 3
        elif word == ENDLOOP:
            if in_loop != 3:
                return CORNERS, at, state, count, solids, corners, slow[:0]
            state = 5
        else:
            state, in_loop = 1, 0
