"""Does the page say a measured value as it is known?"""

import pytest

from casework.findings.measure_pages import Group, in_words, row_of
from casework.measure.walls import CERAMIC_ROOM, WALL_THICKNESS


@pytest.mark.parametrize(
    ("measured", "says"),
    [
        (WALL_THICKNESS.of("45", 0.512, None, 0.001), "0.51 mm"),
        (WALL_THICKNESS.of("45", 3.0), "3.00 mm"),
        (WALL_THICKNESS.at_least("45", 3.0), "at least 3.00 mm"),
        (WALL_THICKNESS.not_known("45", "No abutment."), ""),
    ],
)
def test_a_value_a_bound_and_neither(measured, says):
    row = row_of(measured.as_dict())

    assert (row.value, row.because) == (says, measured.because)


@pytest.mark.parametrize(
    ("value", "unit", "words"),
    [(2.0, "", "2"), (0.5, "", "0.50"), (15.4, "µm", "15 µm"), (3.0, "deg", "3.00 °")],
)
def test_counts_and_micrometres_have_no_decimals(value, unit, words):
    assert in_words(value, unit) == words


@pytest.mark.parametrize(
    ("doubt_mm", "says"),
    [
        (0.02, "± 0.02 mm"),
        (0.001, "± less than 0.01 mm"),
        (0.0, "± less than 0.01 mm"),
        (None, ""),
    ],
)
def test_a_doubt_is_never_said_to_be_nothing_where_it_is_something(doubt_mm, says):
    assert row_of(WALL_THICKNESS.of("45", 0.5, None, doubt_mm).as_dict()).doubt == says


def test_values_of_one_quantity_stand_together_with_their_regions():
    walls = [
        WALL_THICKNESS.of("45", 0.5, region="axial"),
        CERAMIC_ROOM.of("45", 1.5),
        WALL_THICKNESS.not_known("47", "No abutment."),
    ]

    group = Group.of("path", [row_of(one.as_dict()) for one in walls])

    assert (group.title, group.count, group.unknown) == ("Path of insertion", 3, 1)
    assert [[row.subject for row in block] for block in group.blocks] == [
        ["ISO 45", "ISO 47"],
        ["ISO 45"],
    ]
    assert group.blocks[0][0].region == "axial"
