"""Is each surface drawn where it lies, in front of what lies behind it, in its own colour?"""

import hashlib
import time

import numpy as np
import pytest

from casework.measure.surfaces.colours import UNKNOWN, Ramp, one_hue
from casework.measure.surfaces.drawing import Camera, Part, Section, draw
from tests import shapes

ABOVE = Camera(np.zeros(3), np.array([0, 0, -1.0]), np.array([0, 1.0, 0]), 20.0)
RED, GREEN = (200, 30, 30), (30, 200, 30)


def covered(image):
    return (image < 250).any(axis=2)


def flat(lengths, ramp, size=10.0, **more):
    """A square of side 20 that fills the picture of ABOVE, with a length at each corner."""
    corners = np.array([[-size, -size, 0], [size, -size, 0], [size, size, 0], [-size, size, 0]])
    faces = np.array([[0, 1, 2], [0, 2, 3]])
    return Part(corners, faces, lengths_mm=np.array(lengths, float), ramp=ramp, **more)


@pytest.mark.parametrize("turn", range(3))
def test_a_ball_covers_the_area_of_its_circle(turn):
    """π r², from any side; closed form."""
    vertices, faces = shapes.sphere(7.0, 96)
    toward = np.eye(3)[turn] + 0.3
    camera = Camera(np.zeros(3), toward, np.roll(toward, 1) + [0, 0.2, 0], 20.0)

    image = draw([Part(vertices, faces)], camera, (800, 800))
    area = np.count_nonzero(covered(image)) * (20.0 / 800) ** 2
    assert area == pytest.approx(np.pi * 49.0, rel=0.003)


@pytest.mark.parametrize("nearer_first", [True, False])
@pytest.mark.parametrize("nearer_is_larger", [True, False])
def test_the_nearer_box_hides_the_other(nearer_first, nearer_is_larger):
    near = Part(*shapes.box(6, 6, 2, at=(-3, -3, 5)), colour=RED, is_smooth=False)
    wide = 9 if nearer_is_larger else 5
    far = Part(*shapes.box(wide, wide, 2, at=(-1, -1, -5)), colour=GREEN, is_smooth=False)

    image = draw([near, far] if nearer_first else [far, near], ABOVE, (200, 200))
    right, down = 115, 85  # 1.5 mm right and up of the middle: over both
    assert image[down, right, 0] > 2 * image[down, right, 1]


def test_a_place_is_drawn_where_it_is_projected():
    """10 pixels a millimetre: 3 right and 4 up of the middle."""
    ball, faces = shapes.sphere(0.5, 24)
    place = np.array([3.0, 4.0, 1.0])

    image = draw([Part(ball + place, faces)], ABOVE, (200, 200))
    rows, columns = np.nonzero(covered(image))
    right, down, depth = ABOVE.on_screen(place[None], (200, 200))[0]
    assert (right, down, depth) == pytest.approx((130.0, 60.0, -1.0))
    assert (columns.mean() + 0.5, rows.mean() + 0.5) == pytest.approx((right, down), abs=0.3)


def test_no_light_falls_through_the_edges_of_triangles():
    rng = np.random.default_rng(1)
    side = np.linspace(-12, 12, 90)
    x, y = np.meshgrid(side, side, indexing="ij")
    points = np.stack([x, y, 0 * x], axis=-1)
    points[1:-1, 1:-1, :2] += rng.uniform(-0.1, 0.1, (88, 88, 2))
    points[..., 2] = rng.uniform(-0.05, 0.05, x.shape)
    i = (np.arange(89)[:, None] * 90 + np.arange(89)).reshape(-1)
    faces = np.concatenate([np.stack([i, i + 90, i + 91], 1), np.stack([i, i + 91, i + 1], 1)])

    assert covered(draw([Part(points.reshape(-1, 3), faces)], ABOVE, (300, 300))).all()


def test_a_translucent_part_mixes_its_colour_with_what_is_behind():
    behind = Part(*shapes.box(16, 16, 1, at=(-8, -8, -4)), colour=(0, 0, 0))
    sheet = flat([0] * 4, None, colour=(200, 100, 0), opacity=0.25, is_smooth=False)
    alone = draw([flat([0] * 4, None, colour=(200, 100, 0), is_smooth=False)], ABOVE, (60, 60))

    mixed = draw([sheet, behind], ABOVE, (60, 60))
    assert mixed[30, 30] == pytest.approx(0.25 * alone[30, 30], abs=1)
    assert mixed[3, 3] == pytest.approx(0.25 * alone[3, 3] + 0.75 * 255, abs=1)


def test_two_translucent_sheets_mix_by_depth_and_not_by_order():
    low = flat([0] * 4, None, colour=RED, opacity=0.5)
    high = Part(low.vertices + [0, 0, 2], low.faces, colour=GREEN, opacity=0.5)

    one, two = draw([low, high], ABOVE, (20, 20)), draw([high, low], ABOVE, (20, 20))
    assert (one == two).all()
    assert one[10, 10, 1] > one[10, 10, 0]


def test_what_lies_behind_an_opaque_part_does_not_shine_through():
    front = flat([0] * 4, None, colour=RED)
    ghost = Part(front.vertices - [0, 0, 3], front.faces, colour=GREEN, opacity=0.5)

    assert (draw([front, ghost], ABOVE, (20, 20)) == draw([front], ABOVE, (20, 20))).all()


def test_a_section_takes_one_side_off_and_hatches_what_it_cuts():
    """A cylinder of radius 5 cut across shows a disc of π r², and the tube in it a ring."""
    body = Part(*shapes.tube(5.0, 3.0, 6.0, 96), is_solid=True, colour=(220, 210, 190))
    section = Section(np.array([0, 0, 3.0]), np.array([0, 0, 1.0]))

    whole = draw([body], ABOVE, (400, 400))
    cut = draw([body], ABOVE, (400, 400), section)
    square = (20.0 / 400) ** 2
    ring = np.pi * (25.0 - 9.0)
    assert np.count_nonzero(covered(cut)) * square == pytest.approx(ring, rel=0.03)
    levels = np.unique(cut[200, 268:286].mean(axis=1).round())
    assert len(levels) > 1  # the hatching
    assert len(np.unique(whole[200, 268:286].reshape(-1, 3), axis=0)) == 1


def test_a_sheet_inside_a_body_that_is_cut_stays_hidden():
    body = Part(*shapes.box(16, 16, 8, at=(-8, -8, -4)), is_solid=True, is_smooth=False)
    sheet = Part(np.array([[-5, -5, -1], [5, -5, -1], [0, 5, -1.0]]), [[0, 1, 2]], RED)
    section = Section(np.zeros(3), np.array([0, 0, 1.0]))

    alone = draw([body], ABOVE, (80, 80), section)
    assert (draw([body, sheet], ABOVE, (80, 80), section) == alone).all()
    above = Part(sheet.vertices + [0, 0, 3], sheet.faces, RED, is_cut=False)
    assert (draw([body, above], ABOVE, (80, 80), section) != alone).any()


def test_a_body_cut_by_a_tilted_plane_hides_what_lies_under_the_plane():
    """The plane x + z = 0 lies above a sheet at z = -3 where x < 3, and below it beyond."""
    body = Part(*shapes.box(18, 18, 18, at=(-9, -9, -9)), is_solid=True, colour=GREEN)
    corners = np.array([[-8, -8, -3], [8, -8, -3], [8, 8, -3], [-8, 8, -3.0]])
    sheet = Part(corners, [[0, 1, 2], [0, 2, 3]], RED, is_cut=False)

    image = draw([body, sheet], ABOVE, (200, 200), Section(np.zeros(3), np.array([1.0, 0, 1])))
    reds = np.flatnonzero(image[100, :, 0] > image[100, :, 1])
    assert (reds.min(), reds.max()) == pytest.approx((130, 179), abs=1)


def test_a_part_that_is_not_cut_stays_whole():
    body = Part(*shapes.cylinder(2.0, 6.0), is_solid=True, is_cut=False)
    section = Section(np.zeros(3), np.array([0, 0, 1.0]))

    assert (draw([body], ABOVE, (80, 80), section) == draw([body], ABOVE, (80, 80))).all()


def test_a_body_wound_inside_out_is_hatched_alike():
    vertices, faces = shapes.cylinder(4.0, 6.0)
    section = Section(np.array([0, 0, 3.0]), np.array([0, 0, 1.0]))
    right, wrong = (
        draw([Part(vertices, f, is_solid=True)], ABOVE, (80, 80), section)
        for f in (faces, faces[:, ::-1])
    )

    assert (right == wrong).all()


def lightness(rgb):
    """CIE 1976 L* of sRGB colours (k, 3) of 255 (IEC 61966-2-1; ISO/CIE 11664-4)."""
    part = np.asarray(rgb, float) / 255
    linear = np.where(part <= 0.04045, part / 12.92, ((part + 0.055) / 1.055) ** 2.4)
    y = linear @ [0.2126, 0.7152, 0.0722]
    return np.where(y > (6 / 29) ** 3, 116 * np.cbrt(y) - 16, y * (29 / 3) ** 3)


def test_the_ramp_darkens_evenly_from_end_to_end():
    steps = np.diff(lightness(one_hue()))

    assert (steps < 0).all()
    assert steps.sum() == pytest.approx(-71.0, abs=1.0)
    assert lightness(one_hue()) == pytest.approx(np.linspace(95, 24, 128), abs=0.5)


@pytest.mark.parametrize("ramp", [Ramp(0.0, 2.0), Ramp(2.0, 0.0)])
def test_more_is_darker_or_lighter_as_the_ramp_says(ramp):
    image = draw([flat([0, 2, 2, 0], ramp)], ABOVE, (100, 100))

    row = lightness(image[50, 5:95])
    assert (np.diff(row) * (1 if ramp.light_mm > ramp.dark_mm else -1) >= 0).all()
    assert abs(row[-1] - row[0]) > 50


def test_a_length_that_is_not_known_is_grey():
    image = draw([flat([np.nan] * 4, Ramp(0.0, 1.0))], ABOVE, (40, 40))
    red, green, blue = image[20, 20].astype(int)

    assert max(red, green, blue) - min(red, green, blue) <= max(UNKNOWN) - min(UNKNOWN)


def test_limits_are_drawn_where_the_length_passes_them():
    """A length of 0 to 2 over 20 mm passes 0.5 and 1.5 at a quarter and three of the width."""
    ramp = Ramp(0.0, 2.0, (("axial", 0.5), ("occlusal", 1.5)))
    image = draw([flat([0, 2, 2, 0], ramp)], ABOVE, (200, 50))

    row = lightness(image[25])
    assert abs(int(np.argmin(row[5:100])) + 5 - 50) <= 1
    assert abs(int(np.argmin(row[120:180])) + 120 - 150) <= 1
    assert row[100] - row[150] > 20


def test_a_ramp_without_length_is_refused():
    with pytest.raises(ValueError, match="two lengths"):
        Ramp(1.0, 1.0)


def test_the_same_scene_gives_the_same_bytes():
    vertices, faces = shapes.sphere(6.0, 48)
    scene = [Part(vertices, faces, opacity=0.5), Part(*shapes.cylinder(2.0, 20.0))]
    digests = {
        hashlib.sha256(draw(scene, ABOVE, (120, 90)).tobytes()).hexdigest() for _ in range(3)
    }

    assert len(digests) == 1


def test_nothing_and_empty_parts_are_white_paper():
    empty = Part(np.zeros((0, 3)), np.zeros((0, 3), int))

    for parts in ([], [empty], [empty, Part(np.zeros((3, 3)), np.zeros((0, 3), int))]):
        assert (draw(parts, ABOVE, (30, 20)) == 255).all()
    assert draw([], ABOVE, (30, 20)).shape == (20, 30, 3)


def test_triangles_at_unknown_places_are_left_out():
    part = flat([0] * 4, None)
    corners = part.vertices.copy()
    corners[3] = np.nan

    image = draw([Part(corners, part.faces)], ABOVE, (100, 100))
    assert covered(image)[70, 70]
    assert not covered(image)[20, 20]


def test_places_far_outside_the_picture_do_no_harm():
    far = np.array([[-1e9, -1e9, 0], [1e9, -1e9, 0], [0, 1e9, 0.0]])

    assert covered(draw([Part(far, np.array([[0, 1, 2]]))], ABOVE, (50, 50))).all()
    assert not covered(draw([Part(far + [3e9, 0, 0], [[0, 1, 2]])], ABOVE, (50, 50))).any()


def test_up_along_the_line_of_sight_is_refused():
    camera = Camera(np.zeros(3), np.array([0, 0, 1.0]), np.array([0, 0, 2.0]), 10.0)

    with pytest.raises(ValueError, match="direction"):
        draw([], camera, (10, 10))


@pytest.mark.slow
def test_a_million_triangles_are_drawn_within_a_second():
    vertices, faces = shapes.sphere(9.0, 1002)
    part = Part(vertices, faces)
    draw([part], ABOVE, (900, 700))

    began = time.process_time()
    draw([part], ABOVE, (900, 700))
    assert len(faces) > 980_000
    assert time.process_time() - began < 1.0
