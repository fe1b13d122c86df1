"""Is a finding held against the value that it judges, and no other?"""

import pytest

from casework.measurements.judged import result_of
from tests.casework.measurements.pictures.mouth import results, row


def finding(subject, measured, **more):
    return {"subject": subject, "measured": measured, **more}


@pytest.mark.parametrize(
    "found,index",
    [
        (finding("45", "0.49 mm"), 0),
        (finding("45", "0.49 mm", region="axial"), 1),
        (finding("45", "0.41 mm", region="margin"), 2),
        (finding("45", "at least 0.41 mm", region="margin"), 2),
        (finding("46", "80 µm"), 4),
        (finding("45-46", "9 mm²"), 6),
        (finding("45", "8 °"), 8),
        (finding("45", "0.50 mm"), None),
        (finding("47", "0.49 mm"), None),
        (finding("45", "0.49 °"), None),
        (finding("45", ""), None),
        (finding("45", "loose"), None),
    ],
)
def test_subject_region_and_figure_decide(found, index):
    assert result_of(found, results()) == index


def test_a_value_that_is_not_known_is_judged_by_nothing():
    assert (
        result_of(finding("46", "0.00 mm"), [row("wall_thickness", "46", None, None)]) is None
    )


def test_a_finding_that_names_its_value_may_word_it_as_it_likes():
    rows = [
        row("scan_body_covered", "file 1, scan body 1", 0.29, None),
        row("contact", "45", -0.04, None),
        row("contact", "45", -0.06, None),
    ]
    named = {"quantity": "scan_body_covered", "of": "file 1, scan body 1"}
    assert result_of(finding("45", "29 %", **named), rows) == 0
    # Where several are so called, the figure decides.
    contact = {"quantity": "contact", "of": "45"}
    assert result_of(finding("45", "-0.06 mm", **contact), rows) == 2
    assert result_of(finding("45", "-0.05 mm", **contact), rows) is None
    assert result_of(finding("45", "29 %", quantity="wall", of="45"), rows) is None
