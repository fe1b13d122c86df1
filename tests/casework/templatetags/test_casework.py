"""Are teeth, days, moments and sizes said so that nobody reads them two ways?"""

from datetime import UTC, date, datetime
from html import unescape
from types import SimpleNamespace

import pytest
from django.template import Context, Template
from django.utils.html import strip_tags

from casework.cases.access import Desk
from casework.templatetags.casework import case_state, main_pages
from tests.factories import make_member, make_party

US = SimpleNamespace(notation="universal", time_zone="America/New_York")
UK = SimpleNamespace(notation="quadrant", time_zone="Europe/London")


def shown(source, **values):
    return Template(source).render(Context(values))


@pytest.mark.parametrize(
    ("party", "number"), [(None, "45"), (US, "29"), (UK, "LR5")], ids=["iso", "us", "uk"]
)
def test_tooth_is_written_as_the_party_reads_it(party, number):
    page = shown("{{ code|tooth:party }}", code="45", party=party)

    assert f">{number}</span>" in page
    assert 'title="' in page and (party is None or "ISO 3950: 45" in page)


def test_teeth_in_a_row_are_a_span():
    assert ">45-47</span>" in shown("{{ codes|teeth }}", codes="47 46 45")
    assert shown("{{ codes|teeth }}", codes="") == ""
    assert shown("{{ codes|teeth }}", codes=[]) == ""


def test_what_is_no_tooth_is_shown_escaped():
    assert shown("{{ code|tooth }}", code="<b>") == "&lt;b&gt;"
    assert shown("{{ code|tooth }}", code=None) == ""


def test_day_names_its_month():
    assert shown("{{ day|short_date }}", day=date(2026, 4, 3)) == "3 Apr 2026"
    assert shown("{{ day|short_date }}", day=None) == ""


def test_moment_is_in_the_partys_zone():
    at = datetime(2026, 7, 1, 23, 30, tzinfo=UTC)

    assert shown("{{ at|moment:party }}", at=at, party=UK) == "2 Jul 2026, 00:30"
    assert shown("{{ at|moment }}", at=at) == "1 Jul 2026, 23:30 UTC"


@pytest.mark.parametrize(
    ("party", "teeth"),
    [
        (SimpleNamespace(notation="iso"), "45-47, 36"),
        (US, "29-31, 19"),
        (UK, "LR5-LR7, LL6"),
    ],
    ids=["iso", "us", "uk"],
)
def test_sentence_names_days_and_teeth_as_the_party_does(party, teeth):
    sentence = "On 2026-04-03 the parts for ISO 36, 45-47 were counted."

    page = strip_tags(shown("{{ sentence|said:party }}", sentence=sentence, party=party))

    assert page == f"On 3 Apr 2026 the parts for {teeth} were counted."


@pytest.mark.parametrize(
    "sentence",
    [
        "Type a day as year-month-day, for example 2026-04-13.",
        "'2026-02-31' is no day.",
        "There is no 2026-02-31.",
        "Numbered as in ISO 3950.",
        "A case named 12-2026-04-13-5.",
    ],
)
def test_what_was_typed_or_names_no_day_of_the_case_stays(sentence):
    page = shown("{{ sentence|said:party }}", sentence=sentence, party=US)

    assert unescape(page) == sentence


def test_sentence_is_escaped():
    assert shown("{{ sentence|said }}", sentence="<b> ISO 36").startswith("&lt;b&gt; <span")


@pytest.mark.parametrize(
    ("count", "said"),
    [(0, "0 bytes"), (999, "999 bytes"), (84, "84 bytes"), (1500, "1.5 kB"), (2e8, "200.0 MB")],
)
def test_size_is_said_in_powers_of_ten(count, said):
    assert shown("{{ count|size }}", count=count) == said


@pytest.mark.parametrize(
    ("day", "said"),
    [
        (date(2026, 4, 1), "2 days late"),
        (date(2026, 4, 2), "1 day late"),
        (date(2026, 4, 3), "today"),
        (date(2026, 4, 4), "tomorrow"),
        (date(2026, 4, 9), "in 6 days"),
    ],
)
def test_distance_from_today_is_said_in_words(day, said):
    assert shown("{{ day|days_from_today:today }}", day=day, today=date(2026, 4, 3)) == said


def test_stored_names_are_said_as_words():
    assert shown("{{ it|words }}", it="working_arch") == "Working arch"
    assert shown("{{ it|stage }}", it="design approval") == "Design approval"
    assert shown("{{ it|turn }}", it="look_again") == "On hold: look again"
    assert shown("{{ a|yes_no }} {{ b|yes_no }} {{ c|yes_no }}", a=True, b=False, c=None) == (
        "yes no not said"
    )


def test_page_that_does_not_exist_has_no_address():
    assert shown("{% page_url 'no such page' 3 %}") == ""


@pytest.mark.django_db
def test_head_links_to_what_the_member_may_open():
    practice, laboratory = make_party("practice"), make_party("laboratory")

    def labels(party, *roles):
        return [page["label"] for page in main_pages(make_member(party, *roles))]

    assert labels(practice, "front desk")[0] == "Who can come"
    assert "Catalogue" not in labels(practice, "front desk")
    assert labels(laboratory, "technician")[0] == "To make"
    assert labels(laboratory, "administrator")[-2:] == ["Members", "Party"]
    assert "Members" not in labels(laboratory, "technician")


@pytest.mark.django_db
def test_head_of_a_case_says_whose_turn_in_a_sentence(case, dentist, front_desk):
    state = case_state(Desk(case, dentist, "practice"))
    narrow = case_state(Desk(case, front_desk, "practice"))

    assert state["sentence"].startswith("With the practice: record what stands in the jaw")
    assert state["stage_sentence"].startswith("At planning since ")
    assert {"Implants", "Trail"} <= {area["label"] for area in state["areas"]}
    assert not {"Implants", "Trail"} & {area["label"] for area in narrow["areas"]}
