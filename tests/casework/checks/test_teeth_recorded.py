"""Is it found that the teeth were not looked at, or before the implant was placed?"""

from datetime import date

from casework.stages import guarded_by
from tests.casework.checks.good import PLACED, codes, good

NAME = "teeth_recorded"


def test_guards():
    assert guarded_by(NAME) == {"ready_to_scan"}


def test_teeth_that_were_not_recorded_stop():
    assert codes(NAME, good(dentition=None)) == ["stop not_recorded"]


def test_no_tooth_at_all_asks():
    facts = good()
    facts["dentition"]["present"] = []

    assert codes(NAME, facts) == ["ask none_present"]


def test_teeth_seen_on_the_day_of_the_implant_pass():
    facts = good()
    facts["dentition"]["checked_on"] = PLACED

    assert codes(NAME, facts) == []


def test_teeth_seen_before_the_implant_ask():
    facts = good()
    facts["dentition"]["checked_on"] = date(2026, 1, 11)

    assert codes(NAME, facts) == ["ask older_than_implant 45", "ask older_than_implant 47"]
