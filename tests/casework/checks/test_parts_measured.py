"""Does what could not be measured on the design ever count as fulfilled?"""

from casework.stages import guarded_by
from tests.casework.checks.good import findings, said_of
from tests.casework.checks.measures import measured, step

NAME = "parts_measured"


def not_told(name):
    return {"step": name, "subject": "47", "because": "No abutment is named there."}


def test_guards():
    assert guarded_by(NAME) == {"submit_design", "approve_design"}


def test_everything_measured_says_nothing():
    assert said_of(NAME, steps=[step("connectors", "file 20"), step("abutment", "45")]) == []


def test_what_waits_stops():
    waiting = [step("restoration", "file 20"), step("restoration", "file 21")]

    (found,) = findings(NAME, {"measured": measured(waiting=waiting)})

    assert (found.weight, found.code) == ("stop", "waiting")
    assert found.values["steps"] == "restoration"


def test_what_could_not_be_measured_asks():
    steps = [step("connectors", "file 20", "The surface is open.")]

    (found,) = findings(NAME, {"measured": measured(steps=steps)})

    assert (found.weight, found.code) == ("ask", "not_measured")
    assert found.values["because"] == "The surface is open."


def test_what_is_not_told_asks_where_somebody_needs_it():
    assert said_of(NAME, not_told=[not_told("restoration")]) == ["ask not_told"]
    assert said_of(NAME, not_told=[not_told("look")]) == ["note not_told"]


def test_steps_of_the_scans_are_another_checks():
    steps = [step("sites", "", "None was found."), step("scan", "file 20", "Unreadable.")]

    assert said_of(NAME, steps=steps) == []
