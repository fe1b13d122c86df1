"""Is a parcel found that is not what the approved design lists?"""

from casework.stages import guarded_by
from tests.casework.checks.good import codes, good

NAME = "parts_match_design"
BRIDGE = "bridge (ISO 45, 46, 47)"


def test_guards():
    assert guarded_by(NAME) == {"dispatch_for_try_in", "dispatch_for_delivery"}


def test_part_left_at_the_bench_stops():
    facts = good()
    facts["parcel"]["lines"] = facts["parcel"]["lines"][1:]

    assert codes(NAME, facts) == [f"stop missing {BRIDGE}"]


def test_part_that_stayed_at_the_practice_need_not_travel():
    facts = good()
    facts["parcel"]["lines"] = facts["parcel"]["lines"][1:]
    facts["parts"][0]["place"] = "tried in"

    assert codes(NAME, facts) == []


def test_part_that_is_elsewhere_cannot_be_packed():
    facts = good()
    facts["parts"][0]["place"] = "at milling centre"

    assert codes(NAME, facts) == [f"stop not_at_bench {BRIDGE}"]


def test_part_at_other_teeth_is_another_part():
    facts = good()
    facts["parts"][0]["sites"] = ["45", "46"]

    assert codes(NAME, facts) == [f"stop missing {BRIDGE}"]


def test_empty_parcel_stops():
    facts = good()
    facts["parcel"]["lines"] = []

    assert codes(NAME, facts) == ["stop nothing_packed"]


def test_no_design_stops():
    assert codes(NAME, good(design=None)) == ["stop no_design"]


def test_no_parcel_is_said_by_the_check_that_describes_it():
    assert codes(NAME, good(parcel=None)) == []
