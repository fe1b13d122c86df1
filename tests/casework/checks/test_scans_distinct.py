"""Is one file in two places found? (A32)"""

from casework.stages import guarded_by
from tests.casework.checks.good import codes, file, findings, good

NAME = "scans_distinct"


def test_guards():
    assert guarded_by(NAME) == {"send_scans", "send_order"}


def test_a32_same_bytes_as_upper_and_lower_jaw_stop():
    facts = good()
    facts["files"][2]["sha256"] = facts["files"][1]["sha256"]

    (found,) = findings(NAME, facts)
    assert (found.weight, found.code) == ("stop", "same_bytes")
    assert (found.subject, found.values["other"]) == ("file 2", "file 3")


def test_a_second_scan_of_the_same_bytes_is_not_independent():
    facts = good()
    facts["files"].append(file(9, "second_scan", "lower", sha256=facts["files"][0]["sha256"]))

    assert codes(NAME, facts) == ["stop same_bytes file 1"]


def test_the_same_file_sent_twice_to_its_place_is_noted():
    facts = good()
    facts["files"].append(facts["files"][0] | {"number": 9})

    assert codes(NAME, facts) == ["note sent_twice file 1"]


def test_every_pair_of_three_is_named():
    facts = good()
    for place in (1, 2):
        facts["files"][place]["sha256"] = facts["files"][0]["sha256"]

    assert len(codes(NAME, facts)) == 3
