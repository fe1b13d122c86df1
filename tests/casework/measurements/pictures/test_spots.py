"""Is each place numbered once, in the order of the values?"""

import pytest

from casework.measurements.pictures.spots import least, spots_of
from tests.casework.measurements.pictures.mouth import results, row


def test_places_are_numbered_in_the_order_of_values_and_shared_by_those_at_one_place():
    numbers = {index: spot.number for index, spot in spots_of(results()).items()}

    assert numbers == {0: 1, 1: 1, 2: 2, 4: 3, 5: 4, 6: 5, 7: 6}


def test_a_value_without_a_place_has_no_number():
    assert spots_of([row("post_taper", "45", 8.0, None)]) == {}


def test_a_value_that_is_not_known_may_have_a_place():
    (spot,) = spots_of([row("wall_thickness", "45", None, (1, 2, 3))]).values()

    assert (spot.number, spot.value) == (1, None)
    assert spot.place_mm == pytest.approx([1, 2, 3])


def test_the_least_is_that_of_the_whole_not_of_a_region():
    walls = [spot for spot in spots_of(results()).values() if spot.subject == "45"]

    assert least(spot for spot in walls if spot.quantity == "wall_thickness").value == 0.486
    assert least([]) is None
