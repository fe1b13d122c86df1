"""Does nothing go on in the mouth before every part is in the house?"""

import pytest

from casework.stages import guarded_by
from tests.casework.checks.good import at_chair, codes, good

NAME = "parts_received"
BRIDGE = "bridge (ISO 45, 46, 47)"


def test_guards():
    assert guarded_by(NAME) == {"pass_try_in", "deliver"}


@pytest.mark.parametrize("place", ["at laboratory", "on the way", "lost", "damaged"])
def test_part_elsewhere_stops(place):
    facts = at_chair()
    facts["parts"][0]["place"] = place

    assert codes(NAME, facts) == [f"stop not_here {BRIDGE}"]


@pytest.mark.parametrize("place", ["at practice", "tried in", "delivered"])
def test_part_in_the_house_passes(place):
    facts = at_chair()
    facts["parts"][0]["place"] = place

    assert codes(NAME, facts) == []


def test_no_part_stops():
    assert codes(NAME, good(parts=[])) == ["stop nothing"]
