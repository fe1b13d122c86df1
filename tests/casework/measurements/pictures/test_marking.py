"""Are rings where the places are, badges beside them, and the scale as long as it says?"""

import io

import numpy as np
import pytest
from PIL import Image

from casework.measure.surfaces.colours import Ramp, one_hue
from casework.measurements.pictures.marking import LEGEND_WIDTH, RING, Mark, finished, is_inside

GREY = np.full((300, 400, 3), 150, np.uint8)


def read(png):
    return np.array(Image.open(io.BytesIO(png)).convert("RGB")).astype(int)


def is_dark(image):
    return image.sum(axis=2) < 200


def test_a_ring_stands_around_its_place_on_whatever_is_drawn():
    image = read(finished(GREY, [Mark(7, 200.0, 120.0)], 0.05))

    rows, columns = np.nonzero(is_dark(image[112:130, 191:210]))
    assert len(rows)
    around = np.hypot(columns + 191.5 - 200.0, rows + 112.5 - 120.0)
    on_ring = around[around < RING + 2]
    assert on_ring == pytest.approx(np.full(len(on_ring), RING), abs=2.5)
    assert abs(image[120, 200] - 150).max() < 30  # the place itself stays in sight


@pytest.mark.parametrize("number", [1, 23, 140])
def test_each_mark_has_its_badge_and_no_two_badges_meet(number):
    marks = [Mark(number + k, 200.0 + 3 * k, 150.0) for k in range(6)]

    image = read(finished(GREY, marks, 0.05))
    plain = read(finished(GREY, [], 0.05))
    whiter = (image - plain).min(axis=2) > 60
    assert np.count_nonzero(whiter) > 6 * 400  # six white discs of at least 17 pixels


@pytest.mark.parametrize("mm_per_pixel,length_mm", [(0.02, 1), (0.05, 2), (0.5, 20)])
def test_the_bar_is_as_long_as_it_says(mm_per_pixel, length_mm):
    image = read(finished(GREY, [], mm_per_pixel))

    line = np.flatnonzero(is_dark(image[278:283]).any(axis=0))
    bar = line[line <= 16 + length_mm / mm_per_pixel + 4]
    assert bar.max() - bar.min() == pytest.approx(length_mm / mm_per_pixel, abs=4)


def test_the_legend_stands_beside_the_picture_from_dark_to_light():
    image = read(finished(GREY, [], 0.05, Ramp(2.0, 0.0, (("limit", 0.8),))))

    assert image.shape == (300, 400 + LEGEND_WIDTH, 3)
    strip = image[46:188, 423].sum(axis=1)
    line = np.argmin(strip[20:120]) + 20
    assert line == pytest.approx(0.8 / 2.0 * 146 - 2, abs=3)  # the limit
    rest = np.delete(strip, range(max(line - 4, 0), line + 5))
    assert (np.diff(rest) > -30).all()
    assert abs(rest[0] - one_hue()[-1].astype(int).sum()) < 40
    assert abs(rest[-1] - one_hue()[0].astype(int).sum()) < 40


def test_white_paper_stays_white_and_the_same_picture_the_same_bytes():
    drawn = np.full((200, 300, 3), 255, np.uint8)
    drawn[50:150, 50:250, 0] = np.linspace(0, 250, 200)

    one, two = (finished(drawn, [Mark(1, 100.0, 100.0)], 0.1) for _ in range(2))
    assert one == two
    assert (read(one)[:40, :] == 255).all()


def test_a_place_at_the_rim_is_outside():
    assert is_inside(Mark(1, 50, 50), (100, 100))
    assert not is_inside(Mark(1, 99, 50), (100, 100))
    assert not is_inside(Mark(1, 50, -3), (100, 100))


@pytest.mark.parametrize("near_mm", [0.6, 0.75])
def test_each_limit_has_its_line_and_its_label_and_no_two_labels_meet(near_mm):
    grey = np.full((560, 400, 3), 150, np.uint8)
    limits = (("axial", near_mm), ("occlusal", 0.8))

    image = read(finished(grey, [], 0.05, Ramp(2.0, 0.0, limits)))

    beside = is_dark(image[60:430, 406:409]).any(axis=1)  # where a line stands out of the strip
    # The strip is 560 - 110 - 44 pixels long, darkest above; two rows are left out at its top.
    for length in (near_mm, 0.8):
        assert beside[round(44 + 406 * length / 2.0) - 60]
    labels = np.flatnonzero(is_dark(image[60:430, 446:]).any(axis=1))
    # Two labels of two lines each; the figure at the middle of the scale gives way to them.
    blocks = np.split(labels, np.flatnonzero(np.diff(labels) > 2) + 1)
    assert len(blocks) == 4 and all(len(block) < 20 for block in blocks)
