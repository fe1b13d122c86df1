"""Does a processed scan never count as compared, and name the raw scan it was made of?"""

from casework.stages import guarded_by
from tests.casework.checks.good import codes, file, findings, good
from tests.casework.checks.measures import measured, step

NAME = "processed_scans_returned"
BACK = {"name": "return_scans", "source": "scan processing", "parts_travel": False}


def test_guards():
    assert guarded_by(NAME) == {"return_scans", "send_order"}


def processed(number, role, jaw, of, **changes):
    return file(number, role, jaw, party_side="scan centre", made_from=of, **changes)


def all_processed():
    facts = good(move=dict(BACK))
    facts["files"] += [
        processed(11, "working_arch_scan_bodies", "lower", 1),
        processed(12, "working_arch", "lower", 2),
        processed(13, "opposing_arch", "upper", 3),
        processed(14, "bite_scan", "", 4),
    ]
    return facts


def test_case_without_processing_needs_nothing():
    assert codes(NAME, good()) == []


def test_not_compared_asks_and_says_why():
    found = findings(NAME, all_processed())

    assert [one.code for one in found] == ["not_compared"] * 4
    assert {one.weight for one in found} == {"ask"}
    assert found[0].values["because"] == "the comparison could not be made"


def test_what_was_compared_is_another_checks():
    facts = all_processed()
    steps = [step("processed", f"file {number}") for number in (11, 12, 13)]
    steps.append(step("processed", "file 14", "It cannot be read."))

    assert codes(NAME, facts | {"measured": measured(steps=steps)}) == [
        "ask not_compared file 14"
    ]


def test_nothing_returned_stops():
    assert codes(NAME, good(move=dict(BACK))) == ["stop nothing_returned"]


def test_raw_scan_left_out_asks():
    facts = all_processed()
    facts["files"].pop()

    assert "ask not_processed file 4" in codes(NAME, facts)


def test_without_raw_scan_it_is_not_compared():
    facts = good()
    facts["files"].append(processed(11, "working_arch", "lower", None))

    (found,) = findings(NAME, facts)
    assert (found.weight, found.values["because"]) == ("ask", "no raw scan is named")


def test_raw_scan_that_was_replaced_is_not_compared():
    facts = good()
    facts["files"].append(processed(11, "working_arch", "lower", 99))

    (found,) = findings(NAME, facts)
    assert "(file 99) was replaced" in found.values["because"]


def test_processed_scan_of_another_jaw_stops():
    facts = good()
    facts["files"].append(processed(11, "working_arch", "upper", 2))

    assert "stop shows_another file 11" in codes(NAME, facts)


def test_unchanged_bytes_are_noted():
    facts = good()
    same = facts["files"][1]["sha256"]
    facts["files"].append(processed(11, "working_arch", "lower", 2, sha256=same))

    assert codes(NAME, facts) == ["note unchanged file 11"]
