"""Does every move issue its papers, once, for those who may read them?"""

import pytest
from django.db import transaction

from casework.documents.issuing import GATHER, issue_papers
from casework.stages import papers_issued
from orders.documents import NoSuchPaper, find_document
from orders.documents.models import Paper
from orders.jobs.models import Job
from tests.casework.documents import scene


@pytest.fixture
def filled(case, dentist, technician):
    scene.fill(case, dentist, technician)
    return case


def test_every_paper_of_the_table_has_its_file_template_and_facts():
    assert set(GATHER) == papers_issued()
    series = [find_document(name)[0].series for name in GATHER]
    assert sorted(series) == ["DA", "DR", "FP", "HN", "MR", "OS"]


@pytest.mark.parametrize("name", ["issuing", "naming", "no_such", "../order_sheet", ""])
def test_what_is_no_paper_is_not_found(name):
    with pytest.raises(NoSuchPaper):
        find_document(name)


def test_an_order_issues_sheet_and_note_for_both_sides(filled, dentist, laboratory, practice):
    sheet, note = scene.send_order(filled, dentist, laboratory)

    assert (sheet.number, note.number) == ("OS-2026-00001", "HN-2026-00001")
    for paper in (sheet, note):
        assert set(paper.parties.all()) == {practice, laboratory}
        assert paper.personal is None
    assert Job.objects.filter(kind="papers.print").count() == 2


def test_delivery_papers_are_for_the_practice_alone(filled, dentist, practice):
    for paper in scene.deliver(filled, dentist):
        assert list(paper.parties.all()) == [practice]
        assert paper.personal["name"] == "Quirina Testperson"


def test_an_erased_patient_is_not_named(filled, dentist):
    filled.order.patient.identity.delete()
    filled.order.patient.refresh_from_db()

    assert [paper.personal for paper in scene.deliver(filled, dentist)] == [None, None]


def test_an_amended_offer_issues_a_new_issue_naming_the_old(filled, dentist, laboratory):
    handoff, move = scene.hand_over(
        filled, dentist, laboratory, move="send_order", source="scan capture", signed=True
    )
    old = issue_papers(handoff, move, by=dentist, at=scene.AT)
    new = issue_papers(handoff, move, by=dentist, at=scene.AT)

    assert [paper.replaces for paper in new] == old
    assert new[0].number == "OS-2026-00002"


def test_a_move_without_papers_issues_none(filled, dentist, laboratory):
    assert (
        scene.issue(
            filled, dentist, laboratory, move="ask_for_changes", source="design approval"
        )
        == []
    )


def test_a_move_that_fails_leaves_no_paper_and_no_gap(filled, dentist, laboratory):
    with pytest.raises(ZeroDivisionError), transaction.atomic():
        scene.send_order(filled, dentist, laboratory)
        raise ZeroDivisionError

    assert not Paper.objects.exists() and not Job.objects.filter(kind="papers.print").exists()
    assert scene.send_order(filled, dentist, laboratory)[0].number == "OS-2026-00001"
