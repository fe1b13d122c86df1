"""Is a design that was not measured ever taken for one that holds its limits?"""

from casework.stages import guarded_by
from tests.casework.checks.good import codes, findings, good

NAME = "design_measured"


def test_guards():
    assert guarded_by(NAME) == {"submit_design", "approve_design"}


def test_not_measured_asks_and_names_what():
    (found,) = findings(NAME, good())

    assert (found.weight, found.subject) == ("ask", "version 2")
    for words in ("screw", "walls", "connectors", "fit", "clearance"):
        assert words in found.values["quantities"]


def test_no_version_stops():
    assert codes(NAME, good(design=None)) == ["stop no_version"]
