"""Is an open channel found, under cemented work too?"""

import pytest

from casework.stages import guarded_by
from tests.casework.checks.good import codes, good, screw

NAME = "channels_closed"


def test_guards():
    assert guarded_by(NAME) == {"deliver"}


@pytest.mark.parametrize("retention", ["screw", "cement"])
def test_open_channel_stops(retention):
    facts = good(screws=[screw("45"), screw("47", channel_closed_with="")])
    facts["prescription"]["retention"] = retention

    assert codes(NAME, facts) == ["stop open 47"]


def test_screw_not_recorded_is_said_by_the_check_of_screws():
    assert codes(NAME, good(screws=[])) == []
