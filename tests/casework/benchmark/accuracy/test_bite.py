"""Does clearance stay within what the docs say, over a few seeds?"""

from casework.benchmark.accuracy.bite import rows


def test_clearance_is_within_ten_micrometres_at_a_noise_of_twenty():
    found = {(row.quantity, row.condition): row for row in rows(3)}

    assert found["clearance", "noise 0 µm"].worst < 2
    assert found["clearance", "noise 20 µm"].median < 10
    assert found["clearance", "noise 20 µm"].worst < 20
    raw = found["clearance, raw minimum", "noise 20 µm"]
    assert raw.median > 2 * found["clearance", "noise 20 µm"].median
