"""Is a record found that says something else than what was handed over?"""

import pytest

from casework.stages import guarded_by
from tests.casework.checks.good import codes, good

NAME = "records_unchanged"


def test_guards():
    assert guarded_by(NAME) == {"submit_design"}


@pytest.mark.parametrize(
    ("now", "expected"),
    [("b", []), ("c", ["ask changed implant"]), (None, ["ask gone implant"])],
)
def test_record(now, expected):
    facts = good()
    facts["manifest"]["records"][0]["sha256_now"] = now

    assert codes(NAME, facts) == expected


def test_no_manifest_stops():
    assert codes(NAME, good(manifest=None)) == ["stop no_manifest"]
