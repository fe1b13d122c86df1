"""Do clearances, seats and walls stay within what the docs say, over a few seeds?"""

from casework.benchmark.accuracy.screws import rows


def test_screw_driver_and_wall_are_within_a_micrometre():
    for row in rows(3):
        assert row.worst < 1.0, row
