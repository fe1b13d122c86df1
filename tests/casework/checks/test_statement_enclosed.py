"""Is it asked where no statement travels with the work?

Regulation (EU) 2017/745, Annex XIII section 1 and Article 21(2), from memory.
"""

from casework.stages import guarded_by
from tests.casework.checks.good import codes, good

NAME = "statement_enclosed"


def test_guards():
    assert guarded_by(NAME) == {"dispatch_for_try_in", "dispatch_for_delivery"}


def test_missing_statement_asks():
    facts = good()
    facts["parcel"]["has_statement"] = False

    assert codes(NAME, facts) == ["ask missing"]


def test_no_parcel_is_said_by_the_check_that_describes_it():
    assert codes(NAME, good(parcel=None)) == []
