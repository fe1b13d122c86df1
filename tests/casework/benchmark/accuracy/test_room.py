"""Do heights, widths and directions stay within what the docs say, over a few seeds?"""

import pytest

from casework.benchmark.accuracy.room import rows

MOST = {"height": 60, "height of the stated": 2, "width of a gap": 60,
        "occlusal direction": 8, "outward direction": 8, "angle of the axis": 8}  # fmt: skip


@pytest.mark.slow
def test_room_is_known_within_some_hundredths_of_a_millimetre():
    for row in rows(1):
        assert row.worst < MOST[row.quantity], row
