"""Are limits, digests and sentences of findings what a person may rely on?"""

from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal

import pytest

from casework import limits as default_limits
from casework.checks import Found, Weight, load
from casework.findings.models import Finding, PartyLimit
from casework.findings.queries import (
    LimitNotNamed,
    digests_for,
    key_of,
    limits_for,
    limits_of,
    shown,
    standing_of,
    subject_words,
)
from casework.findings.services import ask_for_gate
from casework.stages import Stage, find_move
from tests.casework.checks.good import good
from tests.casework.findings.filled import fill_planning

READY = find_move(Stage.PLANNING, "ready_to_scan")
HEALING = load("healing_recorded")


def digest_of(check, facts, limits):
    """The digest of what one check reads."""
    return digests_for({"it": check}, facts, limits)["it"]


def set_limit(by, value, *, name="isq_low", since=None):
    return PartyLimit.objects.create(
        party=by.party,
        name=name,
        value=Decimal(value),
        source="our own cases",
        since=since or date.today(),
        set_by=by,
    )


def test_without_a_row_the_default_counts(practice):
    assert limits_of(practice, date.today())("isq_low") == default_limits.limit("isq_low")


def test_the_newest_row_counts_from_its_day(dentist):
    set_limit(dentist, "70", since=date(2026, 1, 1))
    set_limit(dentist, "75", since=date(2026, 3, 1))

    def on(day):
        return limits_of(dentist.party, day)("isq_low").value

    assert on(date(2025, 12, 31)) == 60
    assert on(date(2026, 1, 1)) == 70
    assert on(date(2026, 3, 1)) == 75


def test_another_partys_row_counts_for_nobody_else(dentist, other_practice):
    set_limit(dentist, "70")

    assert limits_of(other_practice, date.today())("isq_low").value == 60


def test_a_check_reads_no_limit_that_its_digest_does_not_cover():
    read = limits_for(HEALING, default_limits.limit)

    assert read("isq_low").value == 60
    with pytest.raises(LimitNotNamed):
        read("bone_loss_year1")


def test_a_practices_limit_changes_outcome_and_digest(case, dentist, run_jobs):
    fill_planning(case, dentist)
    ask_for_gate(case, move=READY, by=dentist)
    run_jobs()
    before = standing_of(case, READY, on=date.today())

    set_limit(dentist, "75")
    between = standing_of(case, READY, on=date.today())
    ask_for_gate(case, move=READY, by=dentist)
    run_jobs()

    assert before.findings == []
    assert [check.name for check in between.not_run] == ["healing_recorded"]
    asks = standing_of(case, READY, on=date.today()).asks
    assert [(one.code, one.subject) for one in asks] == [
        ("quotient_low", "45"),
        ("quotient_low", "47"),
    ]
    assert (asks[0].limit, asks[0].source) == ("75 ISQ", "our own cases")


def test_standing_only_reads(case, django_assert_max_num_queries):
    with django_assert_max_num_queries(20):
        standing_of(case, READY, on=date.today())

    assert not case.gate_runs.exists()


def test_every_fact_limit_and_version_changes_the_digest():
    facts = good()
    first = digest_of(HEALING, facts, default_limits.limit)

    def other_limit(name):
        return replace(default_limits.limit(name), source="another")

    assert digest_of(HEALING, facts, other_limit) != first
    assert digest_of(replace(HEALING, version=2), facts, default_limits.limit) != first
    for name in HEALING.reads:
        changed = facts | {name: None}
        assert digest_of(HEALING, changed, default_limits.limit) != first
    assert digest_of(HEALING, facts | {"shade": None}, default_limits.limit) == first


def test_the_day_it_counts_from_is_a_fact():
    facts = good()
    tomorrow = facts | {"today": facts["today"] + timedelta(days=1)}

    assert digest_of(HEALING, facts, default_limits.limit) != digest_of(
        HEALING, tomorrow, default_limits.limit
    )


def test_two_questions_of_one_code_are_two_questions():
    def asked(**values):
        return key_of("c", Found(Weight.ASK, "allergy", "", values), "d" * 64)

    assert asked(word="titanium") != asked(word="zirconia")
    assert asked(word="titanium") == asked(word="titanium")


@pytest.mark.parametrize(
    ("subject", "words"),
    [
        ("45", "ISO 45"),
        ("47-45", "ISO 47-45"),
        ("file 3", "file 3"),
        ("bridge (ISO 45, 46)", "bridge (ISO 45, 46)"),
        ("upper", "upper"),
        ("", ""),
    ],
)
def test_a_tooth_in_a_sentence_says_its_notation(subject, words):
    assert subject_words(subject) == words


def test_sentence_is_filled_with_subject_and_values():
    row = Finding(weight="ask", code="falling", subject="45", key="k")
    row.values = {"direction": "buccal", "before": "74 ISQ", "after": "70 ISQ"}

    found = shown("healing_recorded", HEALING, row)
    assert (
        found.wrong == "The stability quotient at ISO 45 (buccal) fell from 74 ISQ to 70 ISQ."
    )
    assert found.is_open_ask
