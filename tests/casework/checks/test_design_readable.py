"""Is a design mesh found that is open, replaced, unread or of unsettled unit?

A closed surface is defined in docs/measures.md.
"""

import pytest

from casework.stages import guarded_by
from tests.casework.checks.good import codes, good, integrity

NAME = "design_readable"


def test_guards():
    assert guarded_by(NAME) == {"submit_design"}


def closed(**changes):
    return integrity(**({"is_closed": True, "hole_count": 0, "holes": []} | changes))


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        ({"integrity": closed()}, []),
        ({"integrity": integrity(hole_count=2)}, ["stop open file 20"]),
        ({"integrity": closed(is_inside_out=True)}, ["note turned file 20"]),
        ({"integrity": closed(turned_triangles=1)}, ["note turned file 20"]),
        ({"integrity": closed(duplicate_triangles=2)}, ["note duplicates file 20"]),
        ({"integrity": closed(extents_mm=["0.4", "0.3", "0.4"])}, ["ask size file 20"]),
        ({"integrity": closed(extents_mm=["4", "3", "3"])}, []),
        ({"integrity": closed(extents_mm=["400", "200", "300"])}, ["ask size file 20"]),
        ({"integrity": None}, ["stop not_measured file 20"]),
        ({"unit_factor": ""}, ["stop unit_open file 20"]),
        ({"file_state": "waiting"}, ["stop not_inspected file 20"]),
        ({"file_state": "refused"}, ["stop unreadable file 20"]),
        ({"file_is_current": False}, ["stop superseded file 20"]),
    ],
    ids=lambda value: str(value)[:40],
)
def test_mesh(changes, expected):
    facts = good()
    facts["design"]["parts"][0] |= changes

    assert codes(NAME, facts) == expected


def test_missing_meshes_are_said_by_the_check_of_completeness():
    assert codes(NAME, good(design=None)) == []
