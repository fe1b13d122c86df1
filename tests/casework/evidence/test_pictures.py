"""Does a picture keep every pixel, whatever it is made of, when its texts are taken out?"""

import io
import struct
import zlib

import numpy as np
import pytest
from PIL import Image, PngImagePlugin

from casework.evidence import pictures
from tests.casework.evidence import making


def decoded(data):
    with Image.open(io.BytesIO(data)) as picture:
        return picture.mode, picture.size, picture.tobytes()


def saved(file_format, mode="RGB", **more):
    rng = np.random.default_rng(7)
    base = Image.fromarray(rng.integers(0, 256, (40, 56, 3), dtype=np.uint8))
    made = io.BytesIO()
    base.convert(mode).save(made, file_format, **more)
    return made.getvalue()


TEXT = PngImagePlugin.PngInfo()
TEXT.add_text("Author", "Testperson Alpha")
TEXT.add_itxt("Comment", "Testperson Beta", "en", "Comment", zip=False)
PROFILE = b"profile bytes " * 40


@pytest.mark.parametrize(
    ("file_format", "data"),
    [
        ("JPEG", saved("JPEG", quality=80, comment=b"Testperson")),
        ("JPEG", saved("JPEG", progressive=True, comment=b"Testperson")),
        ("JPEG", saved("JPEG", mode="CMYK", comment=b"Testperson")),
        ("JPEG", saved("JPEG", mode="L", comment=b"Testperson", icc_profile=PROFILE)),
        ("JPEG", saved("JPEG", exif=making.exif())),
        ("PNG", saved("PNG", pnginfo=TEXT)),
        ("PNG", saved("PNG", mode="P", pnginfo=TEXT)),
        ("PNG", saved("PNG", mode="RGBA", pnginfo=TEXT, icc_profile=PROFILE)),
        ("PNG", saved("PNG", mode="LA", pnginfo=TEXT)),
        ("TIFF", saved("TIFF", description="Testperson")),
        ("TIFF", saved("TIFF", mode="L", software="Testperson", compression="tiff_lzw")),
        ("TIFF", saved("TIFF", mode="1", artist="Testperson")),
    ],
    ids=lambda value: value if isinstance(value, str) else "",
)
def test_texts_go_and_pixels_stay(file_format, data):
    assert b"Testperson" in data

    made, removed, digest = pictures.without_metadata(data, file_format)

    assert b"Testperson" not in made
    assert decoded(made) == decoded(data)
    assert removed
    assert pictures.pixel_digest(made) == digest
    assert pictures.without_metadata(made, file_format)[2] == digest


@pytest.mark.parametrize("file_format", ["JPEG", "PNG"])
def test_the_colour_profile_stays(file_format):
    made, _removed, _digest = pictures.without_metadata(
        saved(file_format, icc_profile=PROFILE), file_format
    )

    with Image.open(io.BytesIO(made)) as picture:
        assert picture.info["icc_profile"] == PROFILE


@pytest.mark.parametrize("turn", range(1, 9))
@pytest.mark.parametrize("file_format", ["JPEG", "PNG"])
def test_a_picture_stays_turned_as_it_was(file_format, turn):
    data = saved(file_format, exif=making.exif(turn=turn))

    made, _removed, _digest = pictures.without_metadata(data, file_format)

    with Image.open(io.BytesIO(made)) as picture:
        assert picture.getexif().get(274, 1) == turn
        assert set(picture.getexif()) <= {274}


def test_what_stands_behind_the_end_goes():
    data = saved("JPEG") + saved("JPEG", comment=b"Testperson")

    made, removed, _digest = pictures.without_metadata(data, "JPEG")

    assert b"Testperson" not in made
    assert "what stands after the picture's end" in removed


def test_an_unknown_chunk_goes():
    data = saved("PNG")
    body = b"prIvTestperson"
    chunk = struct.pack(">I", len(body) - 4) + body + struct.pack(">I", zlib.crc32(body))
    at = data.index(b"IDAT") - 4

    made, removed, _digest = pictures.without_metadata(data[:at] + chunk + data[at:], "PNG")

    assert b"Testperson" not in made
    assert removed == ("text of programs",)


def test_all_pages_of_a_tiff_stay():
    pages = [Image.new("L", (9, 7), grey) for grey in (10, 20, 30)]
    made = io.BytesIO()
    pages[0].save(made, "TIFF", save_all=True, append_images=pages[1:], artist="Testperson")

    copy, _removed, _digest = pictures.without_metadata(made.getvalue(), "TIFF")

    with Image.open(io.BytesIO(copy)) as picture:
        assert picture.n_frames == 3
        for frame, grey in enumerate((10, 20, 30)):
            picture.seek(frame)
            assert picture.getpixel((0, 0)) == grey


def test_sixteen_bits_of_grey_stay():
    grey = np.arange(63, dtype=np.uint16).reshape(7, 9) * 1000
    for file_format in ("PNG", "TIFF"):
        made = io.BytesIO()
        Image.fromarray(grey).save(made, file_format)

        copy, _removed, _digest = pictures.without_metadata(made.getvalue(), file_format)

        with Image.open(io.BytesIO(copy)) as picture:
            assert (np.asarray(picture) == grey).all()


@pytest.mark.parametrize("file_format", ["JPEG", "PNG", "TIFF"])
def test_a_cut_picture_is_said_to_be_damaged(file_format):
    data = saved(file_format)

    with pytest.raises(pictures.PictureDamaged):
        pictures.without_metadata(data[: len(data) // 2], file_format)
