"""Which bytes of a picture may leave the house, without where, when, by whom and on what?

JPEG and PNG are copied segment by segment, so that the compressed picture stays bit for bit;
only TIFF, whose tags and picture are entangled, is written anew, without loss and upright.
Kept besides the picture: how it is turned, its colour profile, its resolution. The proof that
nothing else changed is a digest over the decoded pixels, taken from both.
Sources: JPEG segments ITU-T T.81 annex B; Exif orientation CIPA DC-008 (tag 274); PNG chunks
W3C PNG third edition, sections 5 and 11.
"""

import hashlib
import io
import struct
import warnings
import zlib

ORIENTATION = 274
DATE_TAKEN, DATE_CHANGED, EXIF_IFD = 36867, 306, 34665
PNG_START = b"\x89PNG\r\n\x1a\n"
# Chunks without which the picture looks different. Everything else is left out.
PNG_KEPT = frozenset(
    b"IHDR PLTE IDAT IEND tRNS cHRM gAMA iCCP sBIT sRGB cICP bKGD hIST pHYs"
    b" acTL fcTL fdAT".split()
)
TIFF_KEPT = frozenset({282, 283, 296, 34675})


class PictureDamaged(Exception):
    """The picture's structure ends early or makes no sense."""


def open_picture(source):
    """Open a JPEG, PNG or TIFF, and nothing else the library would guess it to be."""
    from PIL import Image

    Image.init()
    return Image.open(source, formats=("JPEG", "PNG", "TIFF"))


def without_metadata(data, file_format):
    """(bytes, what was removed in words, digest of the pixels) of a JPEG, PNG or TIFF.

    Raises PictureDamaged; never returns a picture whose pixels differ.
    """
    before = pixel_digest(data)
    made, removed = _WRITERS[file_format](data)
    if pixel_digest(made) != before:
        raise PictureDamaged("the pixels differ after the metadata were taken out")
    return made, removed, before


def pixel_digest(data):
    """SHA-256 over mode, size, turn and decoded pixels of every frame that is kept."""
    from PIL import Image

    digest = hashlib.sha256()
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        try:
            with open_picture(io.BytesIO(data)) as picture:
                for frame in range(_frames(picture)):
                    picture.seek(frame)
                    picture.load()
                    # The library turns a TIFF while it decodes it.
                    is_turned = picture.format == "TIFF"
                    turn = 1 if is_turned else picture.getexif().get(ORIENTATION, 1)
                    digest.update(f"{picture.mode} {picture.size} {turn};".encode())
                    digest.update(picture.tobytes())
        except (OSError, SyntaxError, ValueError, EOFError, Image.DecompressionBombError):
            raise PictureDamaged("the picture cannot be decoded") from None
    return digest.hexdigest()


def _frames(picture):
    # The further pictures in a JPEG (depth maps, previews) are not kept.
    return 1 if picture.format in {"JPEG", "MPO"} else getattr(picture, "n_frames", 1)


def day_taken(path):
    """The day a camera wrote into the picture, as "YYYY-MM-DD", or None."""
    from PIL import Image

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            with open_picture(path) as picture:
                exif = picture.getexif()
                said = exif.get_ifd(EXIF_IFD).get(DATE_TAKEN) or exif.get(DATE_CHANGED)
    except (OSError, SyntaxError, ValueError, EOFError, Image.DecompressionBombError):
        return None
    text = said.decode("ascii", "replace") if isinstance(said, bytes) else str(said or "")
    return text[:10].replace(":", "-") if len(text) >= 10 else None


def _jpeg(data):
    out, removed, turn = [b"\xff\xd8"], set(), _turn_of(data)
    if turn != 1:
        out.append(_turn_segment(turn))
    for marker, segment in _segments(data):
        what = _jpeg_reason(marker, segment)
        if what:
            removed.add(what)
        else:
            out.append(segment)
    made = b"".join(out)
    if not made.endswith(b"\xff\xd9"):
        raise PictureDamaged("the picture does not end")
    if len(data) > data.rfind(b"\xff\xd9") + 2 or data.count(b"\xff\xd8\xff") > 1:
        removed.add("what stands after the picture's end")
    return made, tuple(sorted(removed))


def _segments(data):
    """(marker, bytes) of each piece after the start; a scan runs to the next real marker."""
    at = 2
    while True:
        while data[at : at + 2] == b"\xff\xff":
            at += 1
        if len(data) < at + 2 or data[at] != 0xFF:
            raise PictureDamaged("a segment does not begin where it should")
        marker = data[at + 1]
        if marker == 0xD9:
            yield marker, data[at : at + 2]
            return
        if marker == 0x01 or 0xD0 <= marker <= 0xD8:
            at += 2
            continue
        if len(data) < at + 4:
            raise PictureDamaged("a segment is cut off")
        (length,) = struct.unpack_from(">H", data, at + 2)
        end = at + 2 + length
        if length < 2 or end > len(data):
            raise PictureDamaged("a segment is cut off")
        if marker == 0xDA:
            end = _scan_end(data, end)
        yield marker, data[at:end]
        at = end


def _scan_end(data, at):
    """Where the entropy-coded data end: at a marker that is no restart and no stuffed zero."""
    while True:
        at = data.find(b"\xff", at)
        if at < 0 or at + 1 >= len(data):
            raise PictureDamaged("the picture is cut off")
        if data[at + 1] == 0xFF:
            at += 1
        elif data[at + 1] == 0 or 0xD0 <= data[at + 1] <= 0xD7:
            at += 2
        else:
            return at


def _jpeg_reason(marker, segment):
    """Why a segment is left out, or ""."""
    if marker == 0xFE:
        return "comment"
    if not 0xE0 <= marker <= 0xEF:
        return ""
    says = segment[4:]
    if marker == 0xE0 and says[:5] == b"JFIF\0" and len(segment) == 18:
        return ""
    if (
        marker == 0xE2
        and says[:12] == b"ICC_PROFILE\0"
        or marker == 0xEE
        and (says[:5] == b"Adobe" and len(segment) == 16)
    ):
        return ""
    if marker == 0xE1:
        return "position, camera and date (Exif)" if says[:4] == b"Exif" else "XMP text"
    return "preview" if marker == 0xE0 else "text of programs"


def _turn_of(data):
    with open_picture(io.BytesIO(data)) as picture:
        turn = picture.getexif().get(ORIENTATION, 1)
    return turn if turn in range(1, 9) else 1


def _turn_block(turn):
    """A TIFF block of one tag: how the picture is turned."""
    return b"MM\0*\0\0\0\x08\0\1" + struct.pack(">HHIHH", ORIENTATION, 3, 1, turn, 0) + bytes(4)


def _turn_segment(turn):
    says = b"Exif\0\0" + _turn_block(turn)
    return b"\xff\xe1" + struct.pack(">H", len(says) + 2) + says


def _png(data):
    out, removed, at, turn = [PNG_START], set(), len(PNG_START), _turn_of(data)
    while True:
        if len(data) < at + 12:
            raise PictureDamaged("the picture is cut off")
        (length,) = struct.unpack_from(">I", data, at)
        kind, end = data[at + 4 : at + 8], at + 12 + length
        if end > len(data):
            raise PictureDamaged("the picture is cut off")
        if kind in PNG_KEPT:
            out.append(data[at:end])
        else:
            removed.add(_PNG_WORDS.get(kind, "text of programs"))
        if kind == b"IHDR" and turn != 1:
            out.append(_chunk(b"eXIf", _turn_block(turn)))
        at = end
        if kind == b"IEND":
            break
    if len(data) > at:
        removed.add("what stands after the picture's end")
    return b"".join(out), tuple(sorted(removed))


_PNG_WORDS = {
    b"tEXt": "text",
    b"zTXt": "text",
    b"iTXt": "text",
    b"tIME": "date",
    b"eXIf": "position, camera and date (Exif)",
}


def _chunk(kind, says):
    body = kind + says
    return struct.pack(">I", len(says)) + body + struct.pack(">I", zlib.crc32(body))


def _tiff(data):
    removed, frames = set(), []
    with open_picture(io.BytesIO(data)) as picture:
        for number in range(getattr(picture, "n_frames", 1)):
            picture.seek(number)
            tags = dict(picture.tag_v2)
            if any(tag > 320 or tag in _TIFF_TEXT for tag in tags if tag not in _TIFF_PLAIN):
                removed.add("tags of programs, texts and dates")
            frame = picture.copy()
            frame.info = {}
            frame.encoderinfo = {
                "tiffinfo": {tag: tags[tag] for tag in TIFF_KEPT & tags.keys()}
            }
            frames.append(frame)
    made = io.BytesIO()
    first = frames[0]
    first.save(
        made,
        "TIFF",
        compression="tiff_adobe_deflate" if first.mode not in {"1", "F"} else None,
        tiffinfo=first.encoderinfo["tiffinfo"],
        save_all=len(frames) > 1,
        append_images=frames[1:],
    )
    return made.getvalue(), tuple(sorted(removed))


_TIFF_TEXT = frozenset({269, 270, 271, 272, 285, 305, 306, 315, 316})
# Layout of the picture itself: extra samples, sample format, tiles, colour map, YCbCr, profile.
_TIFF_PLAIN = frozenset({322, 323, 324, 325, 330, 338, 339, 347, 529, 530, 531, 532, 34675})

_WRITERS = {"JPEG": _jpeg, "PNG": _png, "TIFF": _tiff}
