"""Is a scan found that is coarse, holed or noisy just where it matters?

Edges of 0.25 mm, noise of 30 µm and 95 % of a margin line are chosen by this service.
"""

import pytest

from casework.stages import guarded_by
from tests.casework.checks.good import findings, said_of
from tests.casework.checks.measures import measured, value

NAME = "scans_dense_where_needed"
BODY, REST = "file 1 at 45", "file 1 elsewhere"


def hole(count, subject=BODY):
    return value("region_hole_count", subject, count, "", longest_mm=3.217)


def test_guards():
    assert guarded_by(NAME) == {"send_scans", "send_order"}


@pytest.mark.parametrize(
    ("row", "expected"),
    [
        (value("region_edge", BODY, 0.25), []),
        (value("region_edge", BODY, 0.26), ["ask coarse file 1"]),
        (value("region_edge", REST, 0.6), []),
        (hole(0), []),
        (hole(2), [f"ask hole {BODY}"]),
        (hole(2, REST), []),
        (value("region_noise", BODY, 30, "µm"), []),
        (value("region_noise", BODY, 40, "µm", 2), [f"ask noisy {BODY}"]),
        (value("region_noise", BODY, 31, "µm", 2), [f"ask within_doubt {BODY}"]),
        (value("scan_noise", "file 1", 40, "µm", 2), ["ask noisy file 1"]),
        (value("region_covered", BODY, 0.94, "", places=300), [f"ask not_shown {BODY}"]),
        (value("region_covered", BODY, 0.96, "", places=300), []),
        (value("region_covered", BODY, 0.5, "", heights_mm=[1]), []),
        (value("region_noise", BODY, None, because="Few points."), []),
        (value("region_edge", BODY, None, because="Nothing."), [f"ask value_not_known {BODY}"]),
    ],
)
def test_one_value(row, expected):
    assert said_of(NAME, row) == expected


def test_the_longest_border_is_told():
    (found,) = findings(NAME, {"measured": measured(hole(2))})

    assert (found.measured, found.values["count"]) == ("3.22 mm", 2)


def coarse(*whole):
    edges = [("scan body 1", 0.2), ("scan body 2", 0.31), ("contact 1 of the gap 46", 0.27)]
    rows = [value("region_edge", f"file 1 at {place}", edge) for place, edge in edges]
    (found,) = findings(NAME, {"measured": measured(*rows, *whole)})
    return found


def test_coarse_places_of_a_scan_are_told_together():
    found = coarse(value("scan_edge", "file 1", 0.2))

    assert (found.weight, found.measured) == ("ask", "0.31 mm")
    assert found.values["places"] == "scan body 2, contact 1 of the gap 46"


def test_a_scan_that_is_coarse_as_a_whole_is_asked_about_once():
    assert coarse(value("scan_edge", "file 1", 0.5)).weight == "note"
