"""Is a mirror image stopped, and every change of a version said to whoever approves it?"""

import pytest

from casework.stages import guarded_by
from tests.casework.checks.good import findings, said_of
from tests.casework.checks.measures import measured, value

NAME = "versions_compared"
FILE = "file 20"


def kind(word, step="versions"):
    more = {"kind": word, "sentence": "So it is."}
    return value("change_agreement", FILE, 0.9, "", step=step, **more)


def test_guards():
    assert guarded_by(NAME) == {"submit_design", "approve_design"}


@pytest.mark.parametrize(
    ("word", "expected"),
    [
        ("identical", []),
        ("same surface", []),
        ("changed in places", [f"note changed {FILE}"]),
        ("moved", [f"note changed {FILE}"]),
        ("unlike", [f"note another {FILE}"]),
        ("scaled", [f"stop scaled {FILE}"]),
        ("mirrored", [f"stop mirrored {FILE}"]),
    ],
)
def test_what_became_of_a_part(word, expected):
    assert said_of(NAME, kind(word)) == expected


def test_the_largest_change_and_what_happened_are_told():
    rows = [kind("moved"), value("change_largest", FILE, 0.314, step="versions")]

    (found,) = findings(NAME, {"measured": measured(*rows)})

    assert (found.measured, found.values["because"]) == ("0.31 mm", "So it is.")


def test_what_is_gone_or_new_is_told_as_an_area_and_never_as_a_shift_of_nothing():
    rows = [
        kind("changed in places"),
        value("change_largest", FILE, 0.0, step="versions"),
        value(
            "change_missing_area", FILE, 12.34, "mm2", step="versions", largest_span_mm=4.567
        ),
        value("change_invented_area", FILE, 3, "mm2", step="versions", largest_span_mm=2.5),
    ]

    changed, gone, added = findings(NAME, {"measured": measured(*rows)})

    assert (changed.code, changed.measured) == ("changed", "")
    assert (gone.code, gone.measured, gone.values["across"]) == ("gone", "12.3 mm²", "4.57 mm")
    assert (added.code, added.measured, added.values["across"]) == ("added", "3 mm²", "2.50 mm")


def test_a_made_part_and_a_scan_are_other_checks():
    assert said_of(NAME, kind("mirrored", "check_scan"), kind("mirrored", "processed")) == []
