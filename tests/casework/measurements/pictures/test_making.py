"""Does every place that matters have its picture, and does no picture depend on the frame?"""

import io

import numpy as np
import pytest
from PIL import Image

from casework.measure.quantities import quantities
from casework.measure.surfaces.poses import Rigid
from casework.measurements.pictures.making import SIZE, WIDE, pictures_of
from tests import shapes
from tests.casework.measurements.pictures import mouth

# Of the bridge; 2 mm lies beyond what the colours of a wall show.
LIMITS = {
    "file 5": {
        "wall": [("occlusal", 2.0), ("axial", 0.8)], "gap": [("margin", 0.12)]
    }
}  # fmt: skip


def made(motion=mouth.STILL, *, results=None, lengths=True, **more):
    return pictures_of(
        mouth.results(motion) if results is None else results,
        mouth.shown(motion, lengths=lengths),
        poses=mouth.poses(motion),
        **{"screws": mouth.SCREWS, "limits": LIMITS, **more},
    )


def pixels(picture):
    return np.array(Image.open(io.BytesIO(picture.png)).convert("RGB")).astype(int)


@pytest.fixture(scope="module")
def pictures():
    return made(matters=[2, 7])


def test_overview_sections_connectors_and_lengths_are_drawn(pictures):
    assert [(one.title, one.pins) for one in pictures] == [
        ("The design on the working arch", (2, 6)),
        ("Least wall at ISO 45", (1, 2, 6)),
        ("Room at ISO 46", (4,)),
        ("Connector 45-46", (5,)),
        ("Wall thickness, bridge 45-46", (1, 2)),
        ("Gap to the abutments, bridge 45-46", (3,)),
    ]


def test_each_names_in_words_from_where_it_is_seen_and_its_places(pictures):
    for picture in pictures:
        assert picture.alt.startswith(f"{picture.title}: ")
        assert "seen" in picture.alt or "cut" in picture.alt
        numbers = ", ".join(map(str, picture.pins))
        assert picture.alt.endswith(f"Numbered places: {numbers}.")
    assert "a dark line at the limit of 0.80 mm (axial)." in pictures[4].alt
    assert "occlusal" not in pictures[4].alt
    assert "a dark line at the limit of 0.12 mm (margin)." in pictures[5].alt


def test_the_first_is_large_and_all_are_small_enough_to_keep(pictures):
    sizes = [Image.open(io.BytesIO(one.png)).size for one in pictures]

    assert sizes[0] == WIDE
    assert all(size[1] == SIZE[1] and size[0] >= SIZE[0] for size in sizes[1:])
    assert all(len(one.png) < 200_000 for one in pictures)


def test_as_a_dictionary_it_can_be_written_as_json(pictures):
    row = pictures[0].as_dict()

    assert row["png"].startswith("iVBORw0KGgo")  # the signature of a PNG, in base64
    assert (row["title"], row["pins"]) == ("The design on the working arch", [2, 6])


def test_a_place_that_no_other_picture_shows_near_by_has_its_own():
    far = mouth.row("contact", "44", 0.3, (9.0, 4.0, 9.0))
    pictures = made(results=[*mouth.results(), far, far], matters=[9, 10])

    last = pictures[-1]
    assert last.title == f"{quantities()['contact'].title}, 44"
    assert last.pins == (7,)
    assert [one.pins for one in pictures].count((7,)) == 2  # the overview, and this one


def test_pictures_are_the_same_wherever_the_case_lies(pictures):
    motion = Rigid(shapes.rotation(1), np.array([120.0, -40.0, 300.0]))

    moved = made(motion, matters=[2, 7])
    assert [(one.title, one.pins) for one in moved] == [(o.title, o.pins) for o in pictures]
    for one, other in zip(pictures, moved, strict=True):
        assert np.abs(pixels(one) - pixels(other)).mean() < 1.0


def test_the_same_case_gives_the_same_bytes(pictures):
    assert [one.png for one in made(matters=[2, 7])] == [one.png for one in pictures]


def test_the_screw_is_drawn_only_where_its_dimensions_are_told(pictures):
    bare = made(screws={})

    assert "with its screw and driver" in pictures[1].alt
    assert "drawn as a dark line" in bare[1].alt
    assert (pixels(bare[1]) != pixels(pictures[1])).any()


def test_without_parts_the_arch_is_shown_and_without_surfaces_nothing():
    arches = mouth.shown()[:2]
    spot = mouth.row("scan_hole", "file 1", 1.0, (0, 5, 0.5), step="scan")

    (overview, close) = pictures_of([spot], arches, poses={}, matters=[0])
    assert overview.title == "The working arch" and overview.pins == (1,)
    assert close.title == "scan hole, file 1" and close.pins == (1,)
    assert pictures_of([spot], [], poses={}) == []


def test_without_results_only_what_needs_none_is_drawn():
    assert [one.title for one in made(results=[])] == [
        "The design on the working arch",
        "Wall thickness, bridge 45-46",
        "Gap to the abutments, bridge 45-46",
    ]


def test_a_limit_darkens_the_surface_and_the_scale(pictures):
    bare = made(limits={}, matters=[2, 7])

    for index in (4, 5):
        with_limit, without = pixels(pictures[index]), pixels(bare[index])
        on_surface, on_scale = with_limit[:, : SIZE[0]], with_limit[:, SIZE[0] :]
        assert on_surface.sum() < without[:, : SIZE[0]].sum()
        # Beside the strip, where without a limit the paper is white, its line stands out.
        beside = slice(6, 9)
        assert (without[60:440, SIZE[0] :][:, beside] > 200).all()
        assert on_scale[60:440, beside].min() < 100
