"""What is a file by its content, whatever its name says?"""

import re

import numpy as np

from casework.measure.faults import MeshUnreadable, excerpt
from casework.measure.stl import HEAD_BYTES, RECORD_BYTES, count_declared, record_type

BINARY_STL, SWAPPED_STL, TEXT_STL, PLY, OBJ = (
    "binary STL",
    "reversed binary STL",
    "text STL",
    "PLY",
    "OBJ",
)

# Beginnings of files that are no mesh or none that is read here: (offset, bytes, what it is).
BEGINNINGS = (
    (0, b"\x89PNG\r\n\x1a\n", "a picture (PNG)"),
    (0, b"\xff\xd8\xff", "a picture (JPEG)"),
    (0, b"GIF87a", "a picture (GIF)"),
    (0, b"GIF89a", "a picture (GIF)"),
    (0, b"II*\0", "a picture (TIFF)"),
    (0, b"MM\0*", "a picture (TIFF)"),
    (0, b"\0\0\0\x0cjP  \r\n", "a picture (JPEG 2000)"),
    (0, b"glTF", "a GLB file (binary glTF, which counts in metres)"),
    (0, b"%PDF-", "a PDF document"),
    (0, b"%!PS", "a PostScript document"),
    (0, b"{\\rtf", "a text document (RTF)"),
    (0, b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1", "an office document"),
    (0, b"7z\xbc\xaf\x27\x1c", "an archive (7z)"),
    (0, b"Rar!\x1a\x07", "an archive (RAR)"),
    (0, b"\x1f\x8b\x08", "a compressed file (gzip)"),
    (0, b"BZh", "a compressed file (bzip2)"),
    (0, b"\xfd7zXZ\0", "a compressed file (xz)"),
    (0, b"\x28\xb5\x2f\xfd", "a compressed file (zstd)"),
    (0, b"\0\x05\x16\x07", "a companion file that some computers put beside the real one"),
    (0, b"MZ", "a program"),
    (0, b"\x7fELF", "a program"),
    (0, b"ID3", "a sound recording"),
    (0, b"SQLite format 3\0", "a database"),
    (128, b"DICM", "a DICOM image"),
    (257, b"ustar", "an archive (tar)"),
)
TEXT_BEGINNINGS = (
    (rb"<\?xml[^>]*>\s*(<!--.*?-->\s*)*(<!doctype[^>]*>\s*)?<svg|<svg", "a drawing (SVG)"),
    (rb"<!doctype html|<html", "a web page (HTML)"),
    (rb"<\?xml[^>]*>\s*(<!--.*?-->\s*)*<collada", "a scene in COLLADA"),
    (rb"<\?xml[^>]*>\s*(<!--.*?-->\s*)*<amf|<amf", "an AMF file"),
    (rb"<\?xml", "an XML file"),
    (rb"\{\s*\"", "a JSON file (or glTF)"),
    (rb"iso-10303-21", "a CAD exchange file (STEP)"),
    (rb"(st|c|n|4)*off\s", "a mesh in the OFF format"),
    (rb"#vrml|#x3d", "a scene in VRML"),
    (rb"# vtk datafile", "a data file of the VTK format"),
    (rb"begin:vcard|from:|received:", "a message"),
)
OBJ_LINE = re.compile(rb"(?:^|[\r\n])[ \t]*(?:v|vn|vt)[ \t]+[-+.\d]", re.I)
OBJ_FACES = re.compile(rb"(?:^|[\r\n])[ \t]*f[ \t]+[-+\d]", re.I)
STL_WORDS = re.compile(rb"(?:^|[\r\n\t ])(?:facet|end[ \t]*solid)(?:[\r\n\t ]|$)", re.I)


def recognise(data: np.ndarray, name: str) -> str:
    """Return which of the five kinds the uint8 array is, or refuse it by what it is.

    Text must be one byte a character already (see reading.plain_text).
    """
    head = data[:4096].tobytes()
    if _begins_with_keyword(head, b"ply"):
        return PLY
    for order, kind in (("<", BINARY_STL), (">", SWAPPED_STL)):
        if is_exactly_stl(data, order):
            return kind
    what = foreign_kind(head, data)
    if what:
        raise MeshUnreadable("foreign_format", name=name, what=what)
    if b"\0" in head.rstrip(b"\0\x1a") or _is_binary(head):
        return _inexact_stl(data, head, name)
    if re.match(rb"\s*(solid\b|facet\s)", head, re.I) and _looks_like_text_stl(data):
        return TEXT_STL
    if _search(OBJ_LINE, data) or _search(OBJ_FACES, data):
        return OBJ
    raise MeshUnreadable("unknown_text", name=name, text=excerpt(head.lstrip()))


def foreign_kind(head: bytes, data: np.ndarray) -> str | None:
    """Return in words what the file is, where it is something else than a mesh read here."""
    for offset, beginning, what in BEGINNINGS:
        if head[offset : offset + len(beginning)] == beginning:
            return what
    if head[:4] in (b"PK\3\4", b"PK\5\6", b"PK\7\x08"):
        tail = data[-65536:].tobytes()
        if b"3D/3dmodel.model" in head or b"3D/3dmodel.model" in tail:
            return "a 3MF file"
        return "an archive (ZIP)"
    if head[4:8] == b"ftyp":
        brand = head[8:12]
        if brand in (b"heic", b"heix", b"hevc", b"mif1", b"msf1", b"heim", b"heis"):
            return "a picture (HEIC)"
        return "a picture (AVIF)" if brand[:3] == b"avi" else "a film (MP4)"
    if head[:4] == b"RIFF":
        return "a picture (WebP)" if head[8:12] == b"WEBP" else "a sound recording or film"
    if head[:2] == b"BM" and int.from_bytes(head[2:6], "little") == len(data):
        return "a picture (BMP)"
    start = head.lstrip()
    for pattern, what in TEXT_BEGINNINGS:
        if re.match(pattern, start, re.I | re.S):
            return what
    return None


def _begins_with_keyword(head, word):
    rest = head[len(word) : len(word) + 80].lstrip(b" \t")
    return head[: len(word)].lower() == word and rest[:1] in (b"\r", b"\n")


def is_exactly_stl(data: np.ndarray, order: str = "<") -> bool:
    """Say whether the length is that of a binary STL with the count it declares."""
    if len(data) < HEAD_BYTES:
        return False
    count = count_declared(data, order)
    return len(data) == HEAD_BYTES + RECORD_BYTES * count and (count > 0 or order == "<")


def _is_binary(head):
    text = head.rstrip(b"\0\x1a")
    odd = sum(c < 32 and c not in b"\t\n\v\f\r\x1a\x1b" for c in text)
    return odd > len(text) // 100


def _inexact_stl(data, head, name):
    """Decide on binary data whose length does not fit its count: cut off, longer, or no STL."""
    if len(data) < HEAD_BYTES:
        if name.lower().endswith(".stl") or head[:5].lower() == b"solid":
            raise MeshUnreadable(
                "cut_off",
                name=name,
                declared=HEAD_BYTES,
                things="bytes of header at least",
                held=len(data),
            )
        raise MeshUnreadable("unknown_binary", name=name)
    if _share_of_sound_triangles(data) < 0.5:
        if _whole_triangles(data) == 0 and name.lower().endswith(".stl"):
            return BINARY_STL
        raise MeshUnreadable("unknown_binary", name=name)
    return BINARY_STL


def _whole_triangles(data):
    return (len(data) - HEAD_BYTES) // RECORD_BYTES


def _share_of_sound_triangles(data, most=1000):
    """Return which share of the first records could be triangles of a real thing."""
    held = min(_whole_triangles(data), max(count_declared(data), 1), most)
    if held < 1:
        return 0.0
    records = data[HEAD_BYTES : HEAD_BYTES + RECORD_BYTES * held].view(record_type())
    with np.errstate(invalid="ignore", over="ignore"):
        size = np.abs(records["corners"].astype(np.float64)).max(axis=(1, 2))
        normal = np.abs(records["normal"].astype(np.float64)).max(axis=1)
        is_sound = (size < 1e7) & (size > 1e-9) & ~(normal > 1e3)
    return float(is_sound.mean())


def _looks_like_text_stl(data):
    head = data[:65536].tobytes()
    return (
        bool(STL_WORDS.search(head))
        or len(head.split(None, 2)) < 3
        or (not OBJ_LINE.search(head))
    )


def _search(pattern, data, chunk=1 << 20):
    """Search a large text piece by piece; the pieces overlap by a line's length."""
    return any(
        pattern.search(data[start : start + chunk + 200].tobytes())
        for start in range(0, len(data), chunk)
    )
