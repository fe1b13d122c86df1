"""Do changes, frames and noise stay within what the docs say, on one seeded scan?"""

import pytest

from casework.benchmark.accuracy.change import rows

WORST = {
    "noise": 15,
    "height of a bump": 15,
    "missing area": 5,
    "invented area": 5,
    "motion of the whole, farthest corner": 10,
    "mirror image not told": 0,
    "moved scan body not found": 0,
    "moved scan body, vector": 5,
    "shift of the frame at the scan bodies": 10,
    "turn of the frame": 0.02,
    "same patient refused": 0,
    "other patient accepted": 0,
}


@pytest.mark.slow
def test_changes_are_within_what_was_aimed_at():
    found = rows(1)

    assert {row.quantity for row in found} == set(WORST)
    assert all(row.worst <= WORST[row.quantity] for row in found), found
