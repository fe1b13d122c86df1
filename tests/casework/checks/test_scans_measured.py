"""Does what could not be measured on the scans ever count as fulfilled?"""

import ast
from pathlib import Path

from casework.checks import scans_measured
from casework.measure.sets import steps
from casework.stages import guarded_by
from tests.casework.checks.good import findings, said_of
from tests.casework.checks.measures import measured, step

NAME = "scans_measured"


def not_told(name, because="The form is not told."):
    return {"step": name, "subject": "file 1", "because": because}


def test_guards():
    assert guarded_by(NAME) == {"send_scans", "send_order"}


def test_everything_measured_says_nothing():
    rows = [step("scan", "file 1"), step("scan_bodies", "file 1"), step("sites")]

    assert said_of(NAME, steps=rows) == []


def test_what_waits_stops():
    waiting = [step("scan_bodies", "file 1"), step("sites"), step("connectors", "file 20")]

    (found,) = findings(NAME, {"measured": measured(waiting=waiting)})

    assert (found.weight, found.code) == ("stop", "waiting")
    assert found.values["steps"] == "scan bodies, sites"


def test_what_could_not_be_measured_asks_once_for_each_reason():
    why = "No round wall."
    rows = [step("scan_bodies", "file 1", why), step("sites", "", why)]

    (found,) = findings(NAME, {"measured": measured(steps=rows)})

    assert (found.weight, found.code) == ("ask", "not_measured")
    assert found.values == {"steps": "scan bodies, sites", "because": why}


def test_a_gap_without_a_tooth_behind_it_is_the_rooms():
    rows = [step("room", "width", "No tooth stands distal."), step("room", "height", "None.")]

    (found,) = findings(NAME, {"measured": measured(steps=rows)})

    assert found.values["because"] == "None."


def test_a_form_that_is_not_told_asks_and_what_nobody_needs_is_noted():
    assert said_of(NAME, not_told=[not_told("scan_bodies")]) == ["ask not_told"]
    assert said_of(NAME, not_told=[not_told("sites")]) == ["note not_told"]


def test_steps_of_the_design_are_another_checks():
    rows = [
        step("connectors", "file 20", "It is open."),
        step("scan", "file 1", "Unreadable."),
    ]

    assert said_of(NAME, steps=rows, not_told=[not_told("restoration")]) == []


def steps_planned():
    """Name of every step and of every one that is not told, and whether it is of a design."""
    for path in sorted(Path(steps.__file__).parent.glob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            is_step = isinstance(node, ast.Call) and getattr(node.func, "id", "") in (
                "Planned",
                "NotTold",
            )
            if is_step and isinstance(node.args[0], ast.Constant):
                yield node.args[0].value, any(k.arg == "about_design" for k in node.keywords)


def test_every_step_that_is_not_of_a_design_is_spoken_of_here():
    of_scans = {name for name, is_of_design in steps_planned() if not is_of_design}
    of_designs = {name for name, is_of_design in steps_planned() if is_of_design}

    assert of_scans - {"scan"} <= scans_measured.STEPS  # files as such have their own checks
    assert not of_designs & scans_measured.STEPS
