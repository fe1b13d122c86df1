"""Does every check stand in the machine, and has it words for whatever it finds?"""

import ast
import string
from pathlib import Path

import pytest

from casework import checks
from casework.checks.room_known import OF_DRIVERS
from casework.findings.facts import FACTS
from casework.limits import LIMITS
from casework.stages import checks_needed
from tests.casework.checks.good import at_chair, codes, good

FOLDER = Path(checks.__file__).parent
# Codes come from the rules of orders, or are computed; what a check's test sees holds them.
COMPUTED = {
    "prescription_complete",
    "prescription_coherent",
    "implants_recorded",
    "implants_plausible",
    "scans_complete",
    "scans_readable",
    "recall_within_limits",
}
# Findings that a case without fault still has, because a bridge joins implants.
STILL_SAID = {
    "scans_complete": ["ask no_second_scan"],
    "design_unchanged": ["stop not_submitted"],
}
# Sentences that all checks of measured values share.
SHARED = {**checks.OF_VALUES, **checks.OF_STEPS, **OF_DRIVERS}
# Judged from the arrival of the work on.
AT_CHAIR = {"parts_received", "delivery_recorded", "recall_visits_done", "recall_within_limits"}


def codes_used(name):
    tree = ast.parse((FOLDER / f"{name}.py").read_text(encoding="utf-8"))
    return {
        node.args[0].value
        for node in ast.walk(tree)
        if isinstance(node, ast.Call)
        and getattr(node.func, "id", "") in ("stop", "ask", "note")
        and node.args
        and isinstance(node.args[0], ast.Constant)
    }


def test_every_check_guards_a_move_and_every_check_needed_exists():
    assert set(checks.all_names()) == checks_needed()


@pytest.mark.parametrize("name", checks.all_names())
def test_check_reads_facts_and_limits_that_exist(name):
    check = checks.load(name)

    assert set(check.reads) <= set(FACTS)
    assert set(check.limits) <= set(LIMITS)


@pytest.mark.parametrize("name", checks.all_names())
def test_check_has_words_for_every_code_and_no_idle_ones(name):
    used, told = codes_used(name), set(checks.load(name).sentences)

    assert used <= told
    if name not in COMPUTED:
        own = told - used - set(SHARED)
        unused = {code for code in own if f'"{code}"' not in _body(name)}
        assert not unused


def _body(name):
    text = (FOLDER / f"{name}.py").read_text(encoding="utf-8")
    return text[: text.index("CHECK = Check(")]


@pytest.mark.parametrize("name", checks.all_names())
def test_both_sentences_can_be_read(name):
    for wrong, to_do in checks.load(name).sentences.values():
        for sentence in (wrong, to_do):
            fields = [field for _text, field, _spec, _how in string.Formatter().parse(sentence)]
            assert all(field is None or field.isidentifier() for field in fields)
            assert "?" not in sentence


@pytest.mark.parametrize("name", checks.all_names())
def test_first_line_states_what_must_be_true(name):
    doc = ast.get_docstring(ast.parse((FOLDER / f"{name}.py").read_text(encoding="utf-8")))
    first, _blank, rest = doc.partition("\n")

    assert first.endswith(".")
    source = " ".join(rest.split())
    assert "no source" in source or "docs/" in source or any(c.isdigit() for c in source)


@pytest.mark.parametrize("name", checks.all_names())
def test_a_case_that_lacks_nothing_passes(name):
    facts = at_chair() if name in AT_CHAIR else good()

    assert codes(name, facts) == STILL_SAID.get(name, [])
