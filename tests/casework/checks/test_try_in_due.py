"""Is it asked where work goes for a try-in that nobody ordered?"""

from casework.stages import guarded_by
from tests.casework.checks.good import codes, good

NAME = "try_in_due"


def test_guards():
    assert guarded_by(NAME) == {"dispatch_for_try_in"}


def test_try_in_not_wanted_asks():
    facts = good()
    facts["prescription"]["try_in_wanted"] = False

    assert codes(NAME, facts) == ["ask not_wanted"]


def test_unknown_wish_stops():
    assert codes(NAME, good(prescription=None)) == ["stop no_prescription"]
