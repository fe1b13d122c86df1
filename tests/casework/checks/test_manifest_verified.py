"""Is a manifest refused whose files or records are not what stands now?"""

import pytest

from casework.stages import guarded_by
from tests.casework.checks.good import codes, good

NAME = "manifest_verified"


def test_guards():
    assert guarded_by(NAME) == {"send_scans", "return_scans", "send_order", "send_to_milling"}


@pytest.mark.parametrize(
    ("stored", "expected"),
    [
        ("a" * 64, []),
        ("b" * 64, ["stop file_changed a.stl"]),
        ("missing", ["stop file_missing a.stl"]),
        (None, ["stop file_missing a.stl"]),
    ],
)
def test_file(stored, expected):
    facts = good()
    facts["manifest"]["files"][0]["stored_sha256"] = stored

    assert codes(NAME, facts) == expected


@pytest.mark.parametrize(
    ("now", "expected"),
    [("b", []), ("c", ["stop record_changed implant"]), (None, ["stop record_gone implant"])],
)
def test_record(now, expected):
    facts = good()
    facts["manifest"]["records"][0]["sha256_now"] = now

    assert codes(NAME, facts) == expected


def test_files_that_nobody_read_again_stop():
    facts = good()
    facts["manifest"]["is_verified"] = False

    assert codes(NAME, facts) == ["stop not_read_yet"]


def test_no_manifest_stops():
    assert codes(NAME, good(manifest=None)) == ["stop no_manifest"]


def test_empty_manifest_stops():
    facts = good()
    facts["manifest"] |= {"files": [], "records": []}

    assert codes(NAME, facts) == ["stop empty"]
