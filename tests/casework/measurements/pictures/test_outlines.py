"""Do screw and driver stand on one another as their dimensions say?"""

from casework.measurements.pictures.outlines import driver_outline, screw_outline
from tests.casework.measurements.pictures.mouth import SCREWS

TOLD = SCREWS["45"]


def test_the_head_lies_on_its_seat_and_the_driver_on_the_head():
    assert screw_outline(TOLD["screw"]) == [(0.7, -3.5), (0.7, 1.0), (1.0, 1.0), (1.0, 2.5)]
    assert driver_outline(TOLD) == [(0.8, 2.5), (0.8, 12.5)]


def test_what_is_not_told_is_not_drawn():
    assert screw_outline({}) == []
    assert screw_outline(TOLD["screw"] | {"extra": 1}) != []
    assert driver_outline({"screw": TOLD["screw"]}) == []
    assert driver_outline({"driver": TOLD["driver"]}) == []
