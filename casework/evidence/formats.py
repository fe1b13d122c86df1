"""What is a file, judged by its content and never by its name, and is it whole enough to take?

What is looked at here is cheap: first and last bytes, headers, and the whole content only
where it is small (WHOLE_BYTES, WHOLE_PIXELS). The rest is the background inspection's.
"""

import re
import warnings

from django.utils.translation import gettext as _

from casework.evidence.pictures import open_picture
from casework.evidence.refusals import FileRefused
from casework.evidence.rules import ACCEPTED, MESH_ENDINGS, MESHES, PICTURES, ending_of
from casework.limits import limit
from casework.measure.faults import MeshUnreadable, Note
from casework.measure.reading import as_array, plain_text, read_mesh
from casework.measure.recognition import foreign_kind, is_exactly_stl, recognise

# A mesh up to this size is read in the request, so that an unreadable one leaves nothing.
WHOLE_BYTES = 20 * 2**20
# A picture up to this size is decoded in the request; none beyond PIXELS_MAX is decoded at all.
WHOLE_PIXELS = 12_000_000
PIXELS_MAX = int(limit("photo_size").value * 1_000_000)

ARCHIVE = "ZIP"
# Remarks that whoever sends the file should read at once, as another export may mend them.
TOLD_AT_ONCE = frozenset(
    {"extra_bytes", "colour_file_missing", "encoding", "several_solids", "lines_skipped"}
)
# Values of remarks and refusals that repeat words of the file, where a name may stand.
WORDS_OF_FILE = ("text", "file", "list")
_PICTURE_STARTS = (
    (b"\xff\xd8\xff", "JPEG"),
    (b"\x89PNG\r\n\x1a\n", "PNG"),
    (b"II*\0", "TIFF"),
    (b"MM\0*", "TIFF"),
)
_MESH_FORMATS = {
    "binary STL": "STL",
    "reversed binary STL": "STL",
    "text STL": "STL",
    "PLY": "PLY",
    "OBJ": "OBJ",
}


def format_of(path, name):
    """The format of the file at `path`, or "ZIP"; raises FileRefused saying what it is."""
    if path.stat().st_size == 0:
        raise refusal_of(MeshUnreadable("empty_file", name=name))
    data = as_array(path)
    head = data[:4096].tobytes()
    if is_exactly_stl(data) or is_exactly_stl(data, ">"):
        return "STL"
    if known := _picture_or_document(head):
        return _agreed(known, name)
    if head[:4] in (b"PK\3\4", b"PK\5\6") and foreign_kind(head, data) == "an archive (ZIP)":
        return ARCHIVE
    if what := _foreign(head, data):
        raise FileRefused(
            _("{name} is {what}, which is not taken. Send {accepted}.").format(
                name=name, what=what, accepted=ACCEPTED
            ),
            because=f"is {what}",
        )
    return _mesh_or_text(data, head, name)


def _picture_or_document(head):
    for start, file_format in _PICTURE_STARTS:
        if head.startswith(start):
            return file_format
    if head[128:132] == b"DICM":
        return "DICOM"
    return "PDF" if head.startswith(b"%PDF-") else ""


def _agreed(file_format, name):
    """Refuse a picture or document that its name passes off as a surface."""
    if ending_of(name) in MESH_ENDINGS:
        what = "a picture" if file_format in PICTURES else "a document"
        what = "a DICOM image" if file_format == "DICOM" else f"{what} ({file_format})"
        raise FileRefused(
            _(
                "{name} is {what}, not a surface mesh, although its name ends like one. Export"
                " the scan as STL, PLY or OBJ and send that; if you meant to send {what}, give"
                " the file a name that says so."
            ).format(name=name, what=what),
            because=f"is {what} under the name of a mesh",
        )
    return file_format


def _foreign(head, data):
    start = head.lstrip(b"\xef\xbb\xbf\xff\xfe \t\r\n\0")
    if start.startswith(b"#!"):
        return "a program (script)"
    if head[:4] in (b"\xcf\xfa\xed\xfe", b"\xce\xfa\xed\xfe", b"\xca\xfe\xba\xbe"):
        return "a program"
    # In UTF-16 every second byte is nought; a drawing or page hidden so is one all the same.
    plain = head.replace(b"\0", b"") if head[:2] in (b"\xff\xfe", b"\xfe\xff") else head
    plain = plain.lstrip(b"\xef\xbb\xbf\xff\xfe \t\r\n")
    if re.match(
        rb"(?:<!--.*?-->\s*)*<(?:\?xml|svg|html|head|body|script|!doctype|!\[)",
        plain,
        re.I | re.S,
    ):
        return _markup(plain)
    return foreign_kind(head, data)


def _markup(plain):
    if re.search(rb"<svg[\s/>]", plain, re.I):
        return "a drawing (SVG)"
    if re.search(rb"<html|<!doctype html|<script|<body|<head", plain, re.I):
        return "a web page (HTML)"
    return "an XML file"


def _mesh_or_text(data, head, name):
    try:
        text, _notes = plain_text(
            data[:65536] if head[:2] in (b"\xff\xfe", b"\xfe\xff") else data, name
        )
        return _MESH_FORMATS[recognise(text, name)]
    except MeshUnreadable as problem:
        is_text = problem.code == "unknown_text" and ending_of(name) == "txt"
        if is_text and _is_plain_text(data):
            return "text"
        if ending_of(name) in MESH_ENDINGS and problem.code != "unknown_text":
            raise refusal_of(problem) from None
        raise FileRefused(
            _("{name} is in no format that is taken here. Send {accepted}.").format(
                name=name, accepted=ACCEPTED
            ),
            because="is in no accepted format",
        ) from None


def _is_plain_text(data):
    try:
        text = data.tobytes().decode() if len(data) <= WHOLE_BYTES else "\0"
    except UnicodeDecodeError:
        return False
    return not any(ord(c) < 32 and c not in "\t\r\n\f" for c in text)


def neutral_refusal(problem, name):
    """The sentence of a refusal as it is stored: neither the file's name nor its words."""
    values = problem.values | dict.fromkeys(WORDS_OF_FILE, "…") | {"name": name}
    if "problem" in values:
        values["problem"] = re.sub(r"“[^”]*”", "“…”", values["problem"])
    return MeshUnreadable(problem.code, **values).sentence()


def neutral_notes(notes):
    """Remarks as they are stored, without words of the file."""
    return [
        Note(
            note.code,
            tuple((key, "…" if key in WORDS_OF_FILE else value) for key, value in note.values),
        ).as_dict()
        for note in notes
    ]


def refusal_of(problem):
    """The refusal of a file that casework.measure cannot read."""
    return FileRefused(problem.sentence(), because=problem.code.replace("_", " "))


def check_quickly(path, file_format, name):
    """Read what is small, look at the ends of what is large; returns remarks as sentences.

    Raises FileRefused.
    """
    size = path.stat().st_size
    if file_format in MESHES:
        return check_mesh(path, name, size)
    if file_format in PICTURES:
        check_picture(path, name, pixels_max=WHOLE_PIXELS)
    elif file_format == "DICOM":
        check_dicom(path, name)
    elif file_format == "PDF":
        check_pdf(path, name, size)
    return []


def check_mesh(path, name, size):
    try:
        notes = read_mesh(path, name).notes if size <= WHOLE_BYTES else ()
    except MeshUnreadable as problem:
        raise refusal_of(problem) from None
    return [note.sentence() for note in notes if note.code in TOLD_AT_ONCE]


def check_picture(path, name, *, pixels_max=PIXELS_MAX, taken_max=PIXELS_MAX):
    """Open a picture, and decode it where it has no more than `pixels_max` pixels.

    One with more than `taken_max` is refused.
    """
    from PIL import Image

    with warnings.catch_warnings():
        warnings.simplefilter("ignore", Image.DecompressionBombWarning)
        try:
            with open_picture(path) as picture:
                pixels = picture.width * picture.height
                if pixels <= min(pixels_max, taken_max):
                    picture.load()
        except Image.DecompressionBombError:
            pixels = taken_max + 1
        except (OSError, SyntaxError, ValueError, EOFError):
            raise FileRefused(
                _(
                    "{name} is a damaged picture: it cannot be decoded to its end. Copy or"
                    " export it again."
                ).format(name=name),
                because="is a damaged picture",
            ) from None
    if pixels > taken_max:
        raise FileRefused(
            _(
                "{name} has more than {most} million pixels. Send the picture in a smaller"
                " size."
            ).format(name=name, most=taken_max // 1_000_000),
            because="has too many pixels",
        )


def check_dicom(path, name):
    """Is there an image, and where it is not compressed, are all its bytes there?"""
    has_image, is_whole = _dicom_image(path)
    if is_whole:
        return
    if has_image is False:
        raise FileRefused(
            _("{name} is a DICOM file without an image. Export the radiograph itself.").format(
                name=name
            ),
            because="is a DICOM file without an image",
        )
    raise FileRefused(
        _(
            "{name} is a damaged DICOM file: it cannot be read to its end. Copy or export it"
            " again."
        ).format(name=name),
        because="is a damaged DICOM file",
    )


def _dicom_image(path):
    """(is there an image, are its bytes there); (None, False) where it is unreadable."""
    import pydicom

    try:
        with warnings.catch_warnings(), open(path, "rb") as file:
            warnings.simplefilter("ignore")
            header = pydicom.dcmread(file, stop_before_pixels=True)
            if "Rows" not in header or "Columns" not in header:
                return False, False
            syntax = header.file_meta.TransferSyntaxUID
            if syntax.is_compressed or syntax.is_deflated:
                return True, True
            pixels = int(header.Rows) * int(header.Columns) * int(header.SamplesPerPixel)
            frames = int(header.get("NumberOfFrames", 1) or 1)
            left = path.stat().st_size - file.tell()
            return True, pixels * frames * int(header.BitsAllocated) // 8 <= left
    except Exception:
        # A damaged header raises whatever it touches first.
        return None, False


def check_pdf(path, name, size):
    with open(path, "rb") as file:
        file.seek(max(0, size - 4096))
        tail = file.read()
    if b"%%EOF" not in tail:
        raise FileRefused(
            _("{name} is a PDF document that is cut off. Copy or export it again.").format(
                name=name
            ),
            because="is cut off",
        )
