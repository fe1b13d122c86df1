"""What does the header of a PLY file declare?"""

import re
from dataclasses import dataclass

import numpy as np

from casework.measure.faults import MeshUnreadable, excerpt

TYPES = {
    "char": "i1",
    "uchar": "u1",
    "short": "i2",
    "ushort": "u2",
    "int": "i4",
    "uint": "u4",
    "float": "f4",
    "double": "f8",
    "int8": "i1",
    "uint8": "u1",
    "int16": "i2",
    "uint16": "u2",
    "int32": "i4",
    "uint32": "u4",
    "float32": "f4",
    "float64": "f8",
    "int64": "i8",
    "uint64": "u8",
}
ORDERS = {"ascii": "", "binary_little_endian": "<", "binary_big_endian": ">"}
MOST_HEADER_BYTES = 1 << 20
END = re.compile(rb"(?:^|[\r\n])[ \t]*end_header[ \t]*(\r\n|\n|\r|$)", re.I)


@dataclass(frozen=True)
class Property:
    """One property: name, numpy type code, and the type of its count where it is a list."""

    name: str
    code: str
    count_code: str = ""


@dataclass(frozen=True)
class Element:
    """One kind of record: its name, how many there are, what each holds, its header line."""

    name: str
    count: int
    properties: tuple[Property, ...]
    line: int

    @property
    def least_bytes(self) -> int:
        """Bytes of one binary record whose lists are all empty."""
        return sum(int((p.count_code or p.code)[1]) for p in self.properties)

    def place(self, *names: str) -> int:
        """Return the place of the first property with one of these names, or -1."""
        for name in names:
            for k, one in enumerate(self.properties):
                if one.name.lower() == name:
                    return k
        return -1


@dataclass(frozen=True)
class Header:
    """The declarations of a PLY file; order is '' for text; body is where the data start."""

    order: str
    elements: tuple[Element, ...]
    body: int
    lines: tuple[bytes, ...]
    line_end: bytes


def ply_header(data: np.ndarray, name: str) -> Header:
    """Return the Header of a PLY file (uint8 array), or refuse it naming the line."""
    head = data[:MOST_HEADER_BYTES].tobytes()
    end = END.search(head)
    if not end:
        raise MeshUnreadable("ply_header", name=name, problem="it has no end_header line")
    first_end = re.search(rb"\r\n|\n|\r", head)[0]
    line_end, body = end[1], end.end()
    if line_end == b"\r\n" and first_end == b"\r":  # the LF is the first byte of the data
        line_end, body = b"\r", body - 1
    lines = tuple(re.split(rb"\r\n|\n|\r", head[: end.start(1)]))
    order, elements = None, []
    for number, line in enumerate(lines[1:], 2):
        words = [word.decode("latin-1") for word in line.split()]
        keyword = words[0].lower() if words else ""
        if keyword in ("comment", "obj_info", "end_header", ""):
            continue
        problem = None
        if keyword == "format" and len(words) > 1:
            order = ORDERS.get(words[1].lower())
            if order is None:
                problem = f"line {number} names an unknown format, {words[1][:40]}"
        elif (
            keyword == "element"
            and len(words) == 3
            and words[2].isascii()
            and words[2].isdigit()
            and len(words[2]) < 19
        ):
            elements.append(Element(words[1], int(words[2]), (), number))
        elif keyword == "property" and elements and (made := _property(words)):
            last = elements[-1]
            elements[-1] = Element(last.name, last.count, (*last.properties, made), last.line)
        else:
            problem = f"line {number} cannot be read (“{excerpt(line)}”)"
        if problem:
            raise MeshUnreadable("ply_header", name=name, problem=problem)
    if order is None:
        raise MeshUnreadable("ply_header", name=name, problem="it has no format line")
    return Header(order, tuple(elements), body, lines, line_end)


def _property(words):
    if len(words) == 3 and words[1] in TYPES:
        return Property(words[2], TYPES[words[1]])
    if len(words) == 5 and words[1] == "list" and words[2] in TYPES and words[3] in TYPES:
        if TYPES[words[2]][0] != "f":
            return Property(words[4], TYPES[words[3]], TYPES[words[2]])
    return None
