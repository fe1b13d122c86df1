"""Is found what was moved, invented or lost in a processed scan?

0.03 mm near scan bodies, 0.1 mm elsewhere, 1 mm² of invented surface and 0.05 mm of shift as a
whole are chosen by this service.
"""

import pytest

from casework.stages import guarded_by
from tests.casework.checks.good import said_of
from tests.casework.checks.measures import value

NAME = "processed_scan_unchanged"
FILE, BODY = "file 8", "file 8 at 45"


def row(quantity, amount, unit="mm", doubt=0.0, subject=FILE, **details):
    return value(quantity, subject, amount, unit, doubt, step="processed", **details)


def near(amount, missing=0.0, invented=0.0, doubt=0.0):
    areas = {"missing_area_mm2": missing, "invented_area_mm2": invented}
    return row("change_near", amount, doubt=doubt, subject=BODY, **areas)


def kind(word):
    return row("change_agreement", 0.9, "", kind=word, sentence="So it is.")


def test_guards():
    assert guarded_by(NAME) == {"return_scans", "send_order"}


@pytest.mark.parametrize(
    ("one", "expected"),
    [
        (kind("identical"), []),
        (kind("same surface"), []),
        (kind("changed in places"), []),
        (kind("mirrored"), [f"stop mirrored {FILE}"]),
        (kind("scaled"), [f"stop scaled {FILE}"]),
        (kind("unlike"), [f"stop another {FILE}"]),
        (row("change_motion", 0.05), []),
        (row("change_motion", 0.06), [f"ask moved {FILE}"]),
        (row("change_largest", 0.1), []),
        (row("change_largest", 0.12, doubt=0.01), [f"ask changed {FILE}"]),
        (row("change_largest", 0.105, doubt=0.01), [f"ask within_doubt {FILE}"]),
        (near(0.03), []),
        (near(0.04), [f"ask changed_near {BODY}"]),
        (near(0.0, missing=2.5), [f"ask lost_near {BODY}"]),
        (near(0.0, invented=2.5), [f"ask invented_near {BODY}"]),
        (row("change_invented_area", 1, "mm2"), []),
        (row("change_invented_area", 1.2, "mm2"), [f"ask invented {FILE}"]),
        (row("change_missing_area", 0, "mm2"), []),
        (row("change_missing_area", 40, "mm2", largest_span_mm=9.0), [f"note cut_off {FILE}"]),
        (row("scan_body_shift", 30, "µm", subject="45"), []),
        (row("scan_body_shift", 31, "µm", subject="45"), ["ask body_moved 45"]),
    ],
)
def test_one_change(one, expected):
    assert said_of(NAME, one) == expected


def test_what_a_mirror_image_leaves_unknown_is_said_once():
    unknown = row("change_largest", None, because="So it is.")

    assert said_of(NAME, kind("mirrored"), unknown) == [f"stop mirrored {FILE}"]


def test_what_is_not_known_asks():
    unknown = row("change_near", None, subject=BODY, because="Nothing lies there.")

    assert said_of(NAME, unknown) == [f"ask value_not_known {BODY}"]


def test_changes_of_a_design_are_another_checks():
    assert said_of(NAME, row("change_largest", 2.0) | {"step": "versions"}) == []
