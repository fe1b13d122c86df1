"""Does the result read in a terminal as the values are known?"""

from casework.exchange.measure_result import as_text, document
from casework.measure.walls import WALL_THICKNESS


def test_a_value_a_bound_and_neither_read_differently():
    values = [
        WALL_THICKNESS.of("45", 0.5125, None, 0.001),
        WALL_THICKNESS.at_least("46", 3.0),
        WALL_THICKNESS.not_known("47", "No abutment."),
    ]

    lines = as_text(document("design", results=[one.as_dict() for one in values])).splitlines()

    assert [line.strip() for line in lines[1:-1]] == [
        "wall_thickness 45: 0.5125 ± 0.001 mm",
        "wall_thickness 46: at least 3 mm",
        "wall_thickness 47: not known, because No abutment.",
    ]
