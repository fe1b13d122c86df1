"""How does the demo draw a shade photograph with a grey card and a tab?"""

from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

import numpy as np
from PIL import Image, ImageDraw, ImageFilter

SIZE = (960, 640)
GUM = (196, 112, 108)
GREY_CARD = (119, 119, 119)  # sRGB of a card with L* 50; IEC 61966-2-1 and CIE 15, from memory
TEETH = ((20, 150, 260), (182, 140, 240), (332, 180, 300), (520, 180, 300), (710, 140, 240),
         (862, 150, 260))  # fmt: skip
WORDS = "synthetic picture, invented"


@dataclass(frozen=True)
class ShadePhoto:
    """A written picture and where things lie on it, as left, top, right, bottom pixels."""

    path: Path
    grey_card: tuple
    tab: tuple
    tooth: tuple
    tooth_rgb: tuple  # in the middle of the tooth
    tab_rgb: tuple


def _tooth(draw, left, top, width, height, colour):
    """An upper front tooth seen from the front: round at the gum, wide at the edge."""
    right, bottom = left + width, top + height
    narrow = 0.12 * width
    draw.ellipse((left + narrow, top, right - narrow, top + 0.7 * height), fill=colour)
    draw.polygon(
        [
            (left + narrow, top + 0.35 * height),
            (right - narrow, top + 0.35 * height),
            (right, top + 0.75 * height),
            (right - 3, bottom - 12),
            (right - 0.1 * width, bottom),
            (left + 0.1 * width, bottom),
            (left + 3, bottom - 12),
            (left, top + 0.75 * height),
        ],
        fill=colour,
    )


def shade_photo(folder, seed, taken_at=datetime(2030, 3, 4, 9, 30), name="shade.jpg"):
    """Draw a shade photograph; its moment stands in the picture's EXIF data."""
    random = np.random.default_rng([seed, 8])
    tooth_rgb = tuple(int(c) for c in np.array([222, 206, 176]) + random.integers(-8, 9, 3))
    tab_rgb = tuple(int(c) for c in np.array(tooth_rgb) + random.integers(-5, 6, 3))
    picture = Image.new("RGB", SIZE, (52, 26, 26))
    draw = ImageDraw.Draw(picture)
    draw.rounded_rectangle((0, 20, SIZE[0], 235), 30, fill=GUM)
    for left, width, height in TEETH:
        _tooth(draw, left, 130, width, height, tooth_rgb)
    picture = picture.filter(ImageFilter.GaussianBlur(3))
    draw = ImageDraw.Draw(picture)
    grey_card, tab = (60, 470, 360, 610), (560, 440, 680, 620)
    draw.rectangle(grey_card, fill=GREY_CARD)
    draw.rounded_rectangle(tab, 30, fill=tab_rgb)
    draw.rectangle((tab[0] + 30, 620, tab[2] - 30, 640), fill=(150, 150, 155))
    draw.text((700, 600), WORDS, fill=(190, 190, 190))
    pixels = np.asarray(picture, dtype=float)
    pixels += random.normal(0, 2.0, pixels.shape)
    picture = Image.fromarray(np.clip(pixels, 0, 255).astype(np.uint8))
    exif = Image.Exif()
    moment = taken_at.strftime("%Y:%m:%d %H:%M:%S")
    exif[0x0132] = moment  # DateTime
    exif[0x010E] = WORDS  # ImageDescription
    exif.get_ifd(0x8769)[0x9003] = moment  # DateTimeOriginal
    path = Path(folder) / name
    path.parent.mkdir(parents=True, exist_ok=True)
    picture.save(path, "JPEG", quality=92, exif=exif)
    tooth = (390, 220, 460, 360)
    return ShadePhoto(path, grey_card, tab, tooth, tooth_rgb, tab_rgb)
