"""Is work refused whose design is not the approved one any more?"""

from casework.stages import guarded_by
from tests.casework.checks.good import codes, good

NAME = "approval_stands"


def test_guards():
    assert guarded_by(NAME) == {
        "send_to_milling",
        "dispatch_for_try_in",
        "dispatch_for_delivery",
    }


def test_changed_file_voids_the_approval():
    facts = good()
    facts["design"]["digest_now"] = "ff" * 32

    assert codes(NAME, facts) == ["stop changed version 2"]


def test_unsigned_version_stops():
    facts = good()
    facts["design"]["signed_digest"] = None

    assert codes(NAME, facts) == ["stop no_approval"]


def test_no_version_stops():
    assert codes(NAME, good(design=None)) == ["stop no_approval"]
