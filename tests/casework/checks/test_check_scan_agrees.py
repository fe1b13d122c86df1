"""Is a made part found out that is not the approved design?

0.05 mm of deviation are chosen by this service.
"""

import pytest

from casework.stages import guarded_by
from tests.casework.checks.good import said_of
from tests.casework.checks.measures import step, value

NAME = "check_scan_agrees"
FILE = "file 30"


def row(quantity, amount, unit="mm", doubt=0.0, **details):
    return value(quantity, FILE, amount, unit, doubt, step="check_scan", **details)


def kind(word):
    return row("change_agreement", 0.9, "", kind=word, sentence="So it is.")


def test_guards():
    assert guarded_by(NAME) == {"dispatch_for_try_in", "dispatch_for_delivery"}


@pytest.mark.parametrize(
    ("one", "expected"),
    [
        (kind("same surface"), []),
        (kind("moved"), []),  # a part is scanned in a frame of its own
        (kind("mirrored"), [f"stop mirrored {FILE}"]),
        (kind("scaled"), [f"stop scaled {FILE}"]),
        (kind("unlike"), [f"stop another {FILE}"]),
        (row("change_largest", 0.05), []),
        (row("change_largest", 0.07, doubt=0.01), [f"ask deviates {FILE}"]),
        (row("change_largest", 0.055, doubt=0.01), [f"ask within_doubt {FILE}"]),
        (row("change_largest", None, because="It lies off."), [f"ask value_not_known {FILE}"]),
        (row("change_invented_area", 3, "mm2", largest_span_mm=2.0), [f"note more {FILE}"]),
        (row("change_missing_area", 3, "mm2", largest_span_mm=2.0), [f"note not_shown {FILE}"]),
        (row("change_missing_area", 0, "mm2"), []),
    ],
)
def test_one_value(one, expected):
    assert said_of(NAME, one) == expected


def test_what_a_mirror_image_leaves_unknown_is_said_once():
    unknown = row("change_largest", None, because="So it is.")

    assert said_of(NAME, kind("mirrored"), unknown) == [f"stop mirrored {FILE}"]


def test_a_scan_that_cannot_be_read_asks():
    steps = [
        step("check_scan", "file 20", "It is no mesh."),
        step("versions", "file 20", "No."),
    ]

    assert said_of(NAME, steps=steps) == ["ask not_measured"]


def test_without_a_scan_of_the_part_nothing_is_said():
    assert said_of(NAME) == []
    assert said_of(NAME, row("change_largest", 2.0) | {"step": "versions"}) == []
