"""Do the pages give a paper to whom it is for, and to nobody else?"""

import pytest
from django.core.files.storage import default_storage
from django.urls import reverse

from orders.documents.models import Paper
from tests import factories
from tests.casework.documents import scene


@pytest.fixture
def papers(case, dentist, technician, laboratory):
    scene.fill(case, dentist, technician)
    issued = scene.send_order(case, dentist, laboratory) + scene.deliver(case, dentist)
    return {paper.kind: paper for paper in issued}


def url(name, case, paper=None):
    return reverse(name, args=[case.code, *([paper.pk] if paper else [])])


def test_the_list_shows_each_side_its_papers(case, papers, dentist, technician, sign_in):
    own = sign_in(dentist).get(url("case_papers", case)).content.decode()
    bench = sign_in(technician).get(url("case_papers", case)).content.decode()

    for kind, paper in papers.items():
        assert paper.number in own
        assert (paper.number in bench) == (kind in ("order_sheet", "handoff_note"))


def test_the_print_is_the_stored_one_with_safe_headers(
    case, papers, dentist, sign_in, run_jobs
):
    run_jobs()
    sheet = Paper.objects.get(pk=papers["order_sheet"].pk)

    answer = sign_in(dentist).get(url("case_paper", case, sheet))
    with default_storage.open(sheet.storage_key) as stored:
        assert b"".join(answer.streaming_content) == stored.read()
    answer.close()
    assert answer["Content-Type"] == "application/pdf"
    assert answer["Content-Disposition"] == f'attachment; filename="{sheet.number}.pdf"'
    assert answer["X-Content-Type-Options"] == "nosniff"
    assert answer["Content-Security-Policy"] == "default-src 'none'; sandbox"
    assert answer["Cache-Control"] == "private, no-store"


@pytest.mark.parametrize("name", ["case_paper", "case_paper_print"])
def test_a_paper_of_the_practice_does_not_exist_for_the_laboratory(
    case, papers, technician, sign_in, name
):
    browser = sign_in(technician)

    assert browser.get(url(name, case, papers["delivery_record"])).status_code == 404
    assert browser.post(url("case_paper", case, papers["delivery_record"])).status_code == 404


@pytest.mark.parametrize("name", ["case_papers", "case_paper", "case_paper_print"])
def test_another_party_finds_nothing_and_the_wrong_role_is_refused(
    case, papers, other_laboratory, front_desk, sign_in, name
):
    paper = None if name == "case_papers" else papers["order_sheet"]
    stranger = factories.make_member(other_laboratory, "technician")

    assert sign_in(stranger).get(url(name, case, paper)).status_code == 404
    assert sign_in(front_desk).get(url(name, case, paper)).status_code == 403


def test_a_paper_of_another_case_is_not_found_here(case, papers, dentist, laboratory, sign_in):
    other = factories.make_case(dentist, laboratory=laboratory)

    answer = sign_in(dentist).get(url("case_paper", other, papers["order_sheet"]))
    assert answer.status_code == 404


def test_without_signing_in_there_is_only_the_door(case, papers, client):
    answer = client.get(url("case_paper", case, papers["order_sheet"]))

    assert answer.status_code == 302 and "sign" in answer["Location"]


def test_the_print_view_says_the_same_and_runs_nothing(case, papers, dentist, sign_in):
    answer = sign_in(dentist).get(url("case_paper_print", case, papers["delivery_record"]))

    page = answer.content.decode()
    nonce = answer["Content-Security-Policy"].partition("'nonce-")[2].partition("'")[0]
    assert "Quirina Testperson" in page and "RL-5" in page
    assert f'<style nonce="{nonce}">' in page and "<script" not in page


def test_a_print_that_could_not_be_made_offers_the_print_view_and_another_try(
    case, papers, dentist, sign_in, run_jobs
):
    run_jobs()
    sheet = papers["order_sheet"]
    Paper.objects.filter(pk=sheet.pk).update(state="failed", problem="No Pango here.")
    browser = sign_in(dentist)

    answer = browser.get(url("case_paper", case, sheet))
    page = answer.content.decode()
    assert answer.status_code == 409
    assert "No Pango here." in page and url("case_paper_print", case, sheet) in page
    assert browser.post(url("case_paper", case, sheet)).status_code == 302
    run_jobs()
    assert Paper.objects.get(pk=sheet.pk).state == "printed"


def test_getting_a_paper_that_waits_writes_nothing(case, papers, dentist, sign_in):
    sheet = papers["order_sheet"]
    answer = sign_in(dentist).get(url("case_paper", case, sheet))

    assert "being made" in answer.content.decode()
    assert Paper.objects.get(pk=sheet.pk).state == "waiting"


def test_a_stored_print_that_is_gone_is_made_again(case, papers, dentist, sign_in, run_jobs):
    run_jobs()
    sheet = Paper.objects.get(pk=papers["order_sheet"].pk)
    default_storage.delete(sheet.storage_key)
    browser = sign_in(dentist)

    page = browser.get(url("case_paper", case, sheet)).content.decode()
    assert "stored print is gone" in page
    browser.post(url("case_paper", case, sheet))
    run_jobs()
    again = Paper.objects.get(pk=sheet.pk)
    assert again.print_digest == sheet.print_digest


def test_a_withdrawn_offer_takes_its_papers_back(case, papers, dentist, technician, sign_in):
    case.handoffs.filter(move="send_order").update(state="withdrawn")

    assert (
        sign_in(dentist).get(url("case_paper_print", case, papers["order_sheet"])).status_code
        == 200
    )
    assert (
        sign_in(technician)
        .get(url("case_paper_print", case, papers["order_sheet"]))
        .status_code
        == 404
    )
