"""Are posts found that let nothing in, or hold nothing?

Taper 6 to 20° (from memory; 8 to 12 tested in Choi KH et al. 2018), height 4 mm and 30° of
correction (public summaries, read); 10 µm of undercut are chosen by this service.
"""

import pytest

from casework.stages import guarded_by
from tests.casework.checks.good import said_of
from tests.casework.checks.measures import value

NAME = "paths_common"


def test_guards():
    assert guarded_by(NAME) == {"submit_design", "approve_design"}


@pytest.mark.parametrize(
    ("row", "expected"),
    [
        (value("path_undercut", "45", 0.0), []),
        (value("path_undercut", "45", 0.01), []),
        (value("path_undercut", "45", 0.02), ["ask undercut 45"]),
        (value("path_angle", "45", 30, "deg"), []),
        (value("path_angle", "45", 31, "deg"), ["ask steep 45"]),
        (value("post_height", "45", 4.0, doubt=0), []),
        (value("post_height", "45", 3.9, doubt=0.05), ["ask short 45"]),
        (value("post_height", "45", 3.96, doubt=0.05), ["ask within_doubt 45"]),
        (value("post_taper", "45", 6, "deg"), []),
        (value("post_taper", "45", 20, "deg"), []),
        (value("post_taper", "45", 5.9, "deg"), ["ask taper 45"]),
        (value("post_taper", "45", 20.1, "deg"), ["ask taper 45"]),
        (
            value("path_draft", "45-47", None, "deg", because="No axial wall is known."),
            ["ask value_not_known 45-47"],
        ),
    ],
)
def test_one_value(row, expected):
    assert said_of(NAME, row) == expected


def test_nothing_measured_says_nothing():
    assert said_of(NAME) == []
