"""Can only what was submitted be approved?"""

import pytest

from casework.stages import guarded_by
from tests.casework.checks.good import codes, good

NAME = "design_unchanged"


def test_guards():
    assert guarded_by(NAME) == {"approve_design"}


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        ({"state": "submitted"}, []),
        ({"state": "submitted", "digest_now": "ff" * 32}, ["stop changed version 2"]),
        ({"state": "draft"}, ["stop not_submitted"]),
        ({"state": "returned"}, ["stop not_submitted"]),
    ],
    ids=lambda value: str(value)[:50],
)
def test_version(changes, expected):
    facts = good()
    facts["design"] |= changes

    assert codes(NAME, facts) == expected


def test_no_version_stops():
    assert codes(NAME, good(design=None)) == ["stop not_submitted"]
