"""May what is asked several times alike be answered once, and each on its own all the same?"""

import re
from datetime import date
from decimal import Decimal

import pytest
from django.urls import reverse

from casework.findings.models import Answer, PartyLimit
from casework.findings.services import ask_for_gate
from casework.stages import Stage, find_move
from tests.casework.findings.filled import fill_planning

READY = find_move(Stage.PLANNING, "ready_to_scan")


@pytest.fixture
def move_page(case, dentist, sign_in, run_jobs):
    """The address and the client of a page on which the same is asked of ISO 45 and 47."""
    fill_planning(case, dentist)
    PartyLimit.objects.create(
        party=dentist.party,
        name="isq_low",
        value=Decimal(75),
        source="our own cases",
        since=date.today(),
        set_by=dentist,
    )
    ask_for_gate(case, move=READY, by=dentist)
    run_jobs()
    return reverse("case_move", args=[case.code, "ready_to_scan"]), sign_in(dentist)


def fields_of(page):
    """What the page would send: name and values of its hidden fields, names of its texts."""
    text = page.content.decode()
    asked = re.findall(r'<input type="hidden" name="asked-([^"]+)" value="([^"]+)"', text)
    return asked, re.findall(r'<textarea id="[^"]+" name="([^"]+)"', text)


def test_alike_asks_have_one_field_and_each_one_of_its_own(move_page):
    address, client = move_page

    asked, texts = fields_of(client.get(address))

    assert [group for group, _key in asked] == ["healing_recorded.quotient_low"] * 2
    assert texts == [
        *(f"answer-{key}" for _group, key in asked),
        "answer-healing_recorded.quotient_low",
    ]


def test_one_reason_is_recorded_for_each_in_the_persons_name(move_page, dentist):
    address, client = move_page
    (group, first), (_group, second) = fields_of(client.get(address))[0]

    client.post(
        address,
        {"do": "answer", f"asked-{group}": [first, second], f"answer-{group}": "Two readings."},
    )

    rows = Answer.objects.order_by("subject")
    assert [(row.subject, row.key, row.reason, row.by) for row in rows] == [
        ("45", first, "Two readings.", dentist),
        ("47", second, "Two readings.", dentist),
    ]


def test_one_of_them_may_have_another_reason(move_page):
    address, client = move_page
    (group, first), (_group, second) = fields_of(client.get(address))[0]
    reasons = {f"answer-{group}": "Two readings.", f"answer-{second}": "Read again today."}

    client.post(address, {"do": "answer", f"asked-{group}": [first, second]} | reasons)

    reasons = dict(Answer.objects.values_list("subject", "reason"))
    assert reasons == {"45": "Two readings.", "47": "Read again today."}


def test_what_was_not_shown_is_not_answered_with_the_others(move_page):
    address, client = move_page
    (group, first), (_group, _second) = fields_of(client.get(address))[0]

    client.post(
        address, {"do": "answer", f"asked-{group}": [first], f"answer-{group}": "Two readings."}
    )

    assert Answer.objects.get().key == first


def test_answering_without_a_word_says_so(move_page):
    address, client = move_page

    page = client.post(address, {"do": "answer"}, follow=True)

    assert "No reason was typed." in page.content.decode()
    assert not Answer.objects.exists()
