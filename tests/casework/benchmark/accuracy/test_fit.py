"""Do gaps, overlaps and contacts stay within what the docs say, over a few seeds?"""

from casework.benchmark.accuracy.fit import rows

MOST_UM = {"overlap": 2, "contact": 40}


def test_gaps_are_within_one_and_overlaps_within_two_micrometres():
    for row in rows(3):
        assert row.worst < MOST_UM.get(row.quantity, 1), row
