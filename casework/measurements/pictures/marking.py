"""How are places, a scale and a legend put onto a picture, and how is it kept as a PNG?

Marks are drawn last, so that nothing hides them: an outlined ring at the place, a line from it
to a numbered badge. Letters come with the imaging library, none from the machine.
"""

import io
from dataclasses import dataclass

import numpy as np
from PIL import Image, ImageDraw, ImageFont

from casework.measure.surfaces.colours import UNKNOWN, Ramp, one_hue

FINE = 3  # marks are drawn so much larger and averaged
INK, HALO = (20, 20, 26, 255), (255, 255, 255, 255)
RING, BADGE = 8, 17  # radius in pixels
LETTERS = 22  # as large as small print where a picture is half a page wide
LEGEND_WIDTH = 148
LIMIT_PIXELS = 52  # height of a limit's label of two lines
BARS_MM = (0.1, 0.2, 0.5, 1, 2, 5, 10, 20, 50)
BAR_SHARE = 0.22  # of the width, at most
# Where a badge may stand, seen from its ring, tried in this order.
TURNS_DEG = (-45, -135, 45, 135, -90, 0, 180, 90)
REACHES = (34, 52, 74, 100)


@dataclass(frozen=True, slots=True)
class Mark:
    """A place in a picture, in pixels right and down, and its number."""

    number: int
    right: float
    down: float


def is_inside(mark: Mark, size: tuple[int, int]) -> bool:
    return RING <= mark.right <= size[0] - RING and RING <= mark.down <= size[1] - RING


def finished(
    drawn: np.ndarray, marks: list[Mark], mm_per_pixel: float, ramp: Ramp | None = None
) -> bytes:
    """Return the PNG of a drawn picture (h, w, 3) with its marks, its scale and its legend."""
    height, width = drawn.shape[:2]
    page = Image.new("RGB", (width + (LEGEND_WIDTH if ramp else 0), height), "white")
    page.paste(Image.fromarray(drawn), (0, 0))
    over = Image.new("RGBA", (page.width * FINE, height * FINE), (255, 255, 255, 0))
    pen = _Pen(ImageDraw.Draw(over))
    _bar(pen, width, height, mm_per_pixel)
    if ramp:
        _legend(pen, page, width, height, ramp)
    _pins(pen, marks, width, height)
    over = over.resize(page.size, Image.Resampling.BOX)
    page.paste(over, (0, 0), over)
    return _png(page)


def _png(page):
    """256 colours, dithered: half the bytes, and no difference that an eye would see."""
    palette = page.quantize(255, Image.Quantize.MEDIANCUT)
    few = np.array(page.quantize(palette=palette, dither=Image.Dither.FLOYDSTEINBERG))
    few[(np.array(page) == 255).all(axis=2)] = 255  # the paper stays white
    kept = Image.fromarray(few, "P")
    colours = palette.getpalette()
    kept.putpalette(colours + [0] * (255 * 3 - len(colours)) + [255, 255, 255])
    file = io.BytesIO()
    kept.save(file, "PNG", optimize=True)
    return file.getvalue()


@dataclass(frozen=True, slots=True)
class _Pen:
    """Draws in the pixels of the picture, onto a canvas that is finer."""

    draw: ImageDraw.ImageDraw

    def line(self, points, width=1.4, ink=INK):
        self.draw.line([(x * FINE, y * FINE) for x, y in points], ink, round(width * FINE))

    def disc(self, x, y, radius, fill, outline=None, width=1.6):
        box = [(c + side * radius) * FINE for side in (-1, 1) for c in (x, y)]
        self.draw.ellipse(box, fill, outline, round(width * FINE))

    def box(self, x0, y0, x1, y1, fill, outline=None):
        corners = [c * FINE for c in (x0, y0, x1, y1)]
        self.draw.rectangle(corners, fill, outline, FINE)

    def text(self, x, y, words, anchor, size=LETTERS, halo=2):
        font = ImageFont.load_default(size * FINE)
        place, stroke = (x * FINE, y * FINE), {"stroke_width": halo * FINE, "stroke_fill": HALO}
        self.draw.text(place, words, INK, font, anchor, **stroke)


def _bar(pen, width, height, mm_per_pixel):
    most = BAR_SHARE * width * mm_per_pixel
    length = max((bar for bar in BARS_MM if bar <= most), default=BARS_MM[0])
    x0, y = 16.0, height - 20.0
    x1 = x0 + length / mm_per_pixel
    ends = [(x0, y - 7), (x0, y + 7)], [(x0, y), (x1, y)], [(x1, y - 7), (x1, y + 7)]
    for wide, ink in ((6.0, HALO), (2.6, INK)):
        for points in ends:
            pen.line(points, wide, ink)
    pen.text(x1 + 12, y, f"{length:g} mm", "lm")


def _legend(pen, page, left, height, ramp):
    """The ramp from top (darkest) to bottom (lightest), its ends, its middle, its limits."""
    x0, x1, y0, y1 = left + 10, left + 36, 44, height - 110
    colours = one_hue()[::-1]
    strip = Image.fromarray(colours[:, None, :]).resize(
        (x1 - x0, y1 - y0), Image.Resampling.BOX
    )
    page.paste(strip, (x0, y0))
    pen.line([(x0, y0), (x1, y0), (x1, y1), (x0, y1), (x0, y0)], 1.0)
    limits = []
    for words, length in ramp.lines:
        at = y1 - float(ramp.shares(np.array(length))) * (y1 - y0)
        pen.line([(x0 - 5, at), (x1 + 5, at)], 2.6)
        limits.append((at, f"{words}\n{length:.2f}"))
    places = _apart([at for at, _words in sorted(limits)])
    for y, (_at, words) in zip(places, sorted(limits), strict=True):
        pen.text(x1 + 9, y, words, "lm")
    for share in (0.0, 0.5, 1.0):
        length = ramp.dark_mm + share * (ramp.light_mm - ramp.dark_mm)
        y = y0 + share * (y1 - y0)
        if all(abs(y - other) > LIMIT_PIXELS * 0.75 for other in places):
            pen.text(x1 + 9, y, f"{length:.2f}", "lm")
    if ramp.lines:
        pen.text(x0, 20, "mm, lines: limits", "lm", LETTERS - 6)
    else:
        pen.text(x0, 20, "mm", "lm")
    pen.box(x0, y1 + 40, x1, y1 + 66, (*UNKNOWN, 255), INK)
    pen.text(x1 + 9, y1 + 53, "more, or\nnot known", "lm", LETTERS - 6)


def _apart(places):
    """Ascending places moved apart by no more than it takes for no label to cover another."""
    apart = list(places)
    for k in range(1, len(apart)):
        over = apart[k - 1] + LIMIT_PIXELS - apart[k]
        if over > 0:
            apart[: k + 1] = [*(one - over / 2 for one in apart[:k]), apart[k] + over / 2]
    return apart


def _pins(pen, marks, width, height):
    """Rings at their places; badges where they cover neither a ring nor another badge."""
    taken = [(mark.right, mark.down, RING) for mark in marks]
    badges = []
    for mark in marks:
        x, y = _free_place(mark, taken, width, height)
        taken.append((x, y, BADGE))
        badges.append((mark, x, y))
    for mark, x, y in badges:
        away = max(np.hypot(x - mark.right, y - mark.down), RING)
        share = RING / away  # the line begins at the ring and leaves the place in sight
        start = mark.right + share * (x - mark.right), mark.down + share * (y - mark.down)
        for wide, ink in ((4.0, HALO), (1.6, INK)):
            pen.line([start, (x, y)], wide, ink)
    for mark in marks:
        pen.disc(mark.right, mark.down, RING + 2, None, HALO, 6.0)
        pen.disc(mark.right, mark.down, RING, None, INK, 2.2)
    for mark, x, y in badges:
        pen.disc(x, y, BADGE, HALO, INK, 1.8)
        letters = LETTERS - (0, 2, 7)[min(len(str(mark.number)), 3) - 1]
        pen.text(x, y, str(mark.number), "mm", letters, halo=0)


def _free_place(mark, taken, width, height):
    for reach in REACHES:
        for turn in np.radians(TURNS_DEG):
            x, y = mark.right + reach * np.cos(turn), mark.down + reach * np.sin(turn)
            is_in = BADGE < x < width - BADGE and BADGE < y < height - BADGE
            if is_in and all(np.hypot(x - a, y - b) > BADGE + r + 2 for a, b, r in taken):
                return x, y
    return mark.right, mark.down
