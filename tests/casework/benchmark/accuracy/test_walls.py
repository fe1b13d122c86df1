"""Do walls stay within what the docs say, over a few seeds?"""

from casework.benchmark.accuracy.walls import rows


def test_walls_are_within_five_micrometres():
    found = rows(3)

    assert len(found) == 3
    assert all(row.worst < 5 and row.count == 3 for row in found), found
