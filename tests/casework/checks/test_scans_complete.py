"""Is every scan missed that the laboratory needs, for the jaw it needs it of?"""

import pytest

from casework.stages import guarded_by
from tests.casework.checks.good import codes, file, good

NAME = "scans_complete"
JOINED = "ask no_second_scan"


def test_guards():
    assert guarded_by(NAME) == {"send_scans", "send_order"}


def single(**changes):
    facts = good(**changes)
    facts["order"] |= {"is_splinted": False}
    return facts


@pytest.mark.parametrize(
    ("role", "expected"),
    [
        ("working_arch_scan_bodies", ["stop no_working_arch_scan_bodies lower"]),
        ("working_arch", ["stop no_working_arch lower"]),
        ("opposing_arch", ["stop no_opposing_arch upper"]),
        ("bite_scan", ["stop no_bite"]),
        ("photograph", []),
    ],
)
def test_missing_scan_stops(role, expected):
    facts = single()
    facts["files"] = [row for row in facts["files"] if row["role"] != role]

    assert codes(NAME, facts) == expected


def test_scan_of_the_wrong_jaw_does_not_count():
    facts = single()
    facts["files"][2]["jaw"] = "lower"

    assert codes(NAME, facts) == ["stop no_opposing_arch upper"]


def test_a_file_of_both_jaws_counts_for_each():
    facts = single()
    facts["files"][2]["jaw"] = "both"

    assert codes(NAME, facts) == []


def test_refused_file_fills_no_place():
    facts = single()
    facts["files"][0]["state"] = "refused"

    assert codes(NAME, facts) == ["stop no_working_arch_scan_bodies lower"]


def test_aligned_jaws_need_no_bite_scan():
    facts = single()
    facts["files"] = [row for row in facts["files"] if row["role"] != "bite_scan"]
    facts["bite"]["jaws_aligned"] = True

    assert codes(NAME, facts) == []


def test_without_a_bite_note_the_jaws_are_not_aligned():
    facts = single(bite=None)
    facts["files"] = [row for row in facts["files"] if row["role"] != "bite_scan"]

    assert codes(NAME, facts) == ["stop no_bite"]


def test_site_that_no_scan_shows_asks():
    facts = single()
    facts["files"][0]["sites"] = ["45"]

    assert codes(NAME, facts) == ["ask site_not_shown 47"]


def test_several_files_show_the_sites_together():
    facts = single()
    facts["files"][0]["sites"] = ["45"]
    facts["files"].append(file(9, "working_arch_scan_bodies", "lower", ["47"]))

    assert codes(NAME, facts) == []


def test_prepared_tooth_needs_its_margin():
    facts = single()
    facts["order"]["units"][1] |= {"kind": "retainer", "on": "tooth"}
    assert codes(NAME, facts) == ["stop no_margin 46"]

    facts["files"].append(file(9, "margins", "lower", ["46"]))
    assert codes(NAME, facts) == []


def test_tooth_recorded_as_prepared_needs_its_margin_too():
    facts = single()
    facts["dentition"]["prepared"] = ["46"]

    assert codes(NAME, facts) == ["stop no_margin 46"]


def test_joined_implants_want_a_second_scan():
    assert codes(NAME, good()) == [JOINED]


def test_whether_a_second_scan_agrees_is_another_checks():
    facts = good()
    facts["files"].append(file(9, "second_scan", "lower"))

    assert codes(NAME, facts) == []


def test_nothing_ordered_stops():
    facts = good()
    facts["order"] |= {"sites": [], "teeth": [], "units": []}

    assert codes(NAME, facts) == ["stop nothing_ordered"]
