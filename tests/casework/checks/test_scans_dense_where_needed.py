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
        (value("region_edge", BODY, 0.26), [f"ask coarse {BODY}"]),
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
        (value("region_edge", BODY, None, because="Nothing."), [f"ask value_not_known {BODY}"]),
    ],
)
def test_one_value(row, expected):
    assert said_of(NAME, row) == expected


def test_the_longest_border_is_told():
    (found,) = findings(NAME, {"measured": measured(hole(2))})

    assert (found.measured, found.values["count"]) == ("3.22 mm", 2)
