"""Is a paper numbered once, printed once, and freed of the name when it is erased?"""

import threading

import pytest
from django.core.files.storage import default_storage
from django.db import connection

from casework.audit.models import Entry
from orders.canonical import digest_of_bytes
from orders.documents import find_document, printing, services
from orders.documents.models import Paper
from orders.jobs.models import Job
from orders.jobs.services import Lost, claim
from orders.refusals import Refused
from tests.casework.documents import scene
from tests.orders.documents.sheets import make_sheet, text_of_pdf


def issue(order, by, *, subject="casework.Handoff:1", kind="order_sheet", personal=None):
    document, _template = find_document(kind)
    _head, facts = _thawed(document)
    return services.issue_paper(
        document,
        kind=kind,
        order=order,
        subject=subject,
        facts=facts,
        parties=[by.party],
        by=by,
        at=scene.AT,
        personal=personal,
    )


def _thawed(document):
    from orders.documents import thaw

    return thaw(document, make_sheet().facts)


def test_numbers_count_up_within_kind_and_year(case, dentist):
    papers = [issue(case.order, dentist, subject=f"casework.Handoff:{n}") for n in (1, 2)]

    assert [paper.number for paper in papers] == ["OS-2026-00001", "OS-2026-00002"]


def test_counting_goes_on_past_the_width_of_the_number(case, dentist):
    paper = issue(case.order, dentist)
    Paper.objects.filter(pk=paper.pk).update(number="OS-2026-99999")
    second = issue(case.order, dentist, subject="casework.Handoff:2")
    third = issue(case.order, dentist, subject="casework.Handoff:3")

    assert (second.number, third.number) == ("OS-2026-100000", "OS-2026-100001")


@pytest.mark.django_db(transaction=True)
def test_two_at_once_get_two_numbers(case, dentist):
    gate, failed = threading.Barrier(2), []

    def work(number):
        try:
            gate.wait()
            for turn in range(4):
                issue(case.order, dentist, subject=f"casework.Handoff:{number}{turn}")
        except Exception as problem:
            failed.append(problem)
        finally:
            connection.close()

    threads = [threading.Thread(target=work, args=(n,)) for n in (1, 2)]
    [thread.start() for thread in threads]
    [thread.join() for thread in threads]

    assert failed == []
    numbers = sorted(Paper.objects.values_list("number", flat=True))
    assert numbers == [f"OS-2026-{n:05}" for n in range(1, 9)]


def test_a_second_issue_names_the_first(case, dentist):
    first = issue(case.order, dentist)
    second = issue(case.order, dentist)

    assert second.replaces == first
    assert f"takes the place of {first.number}" in printing.html_of(second)


def test_issuing_is_in_the_trail_without_a_name(case, dentist):
    paper = issue(case.order, dentist, personal={"name": "Quirina Testperson"})

    entry = Entry.objects.get(kind="paper.issued")
    assert paper.number in entry.text and paper.facts_digest in entry.text
    assert "Quirina" not in entry.text and "Quirina" not in paper.facts


def test_the_job_prints_and_stores_once(case, dentist, run_jobs):
    paper = issue(case.order, dentist)
    run_jobs()

    paper.refresh_from_db()
    stored = bytes_of(paper)
    assert paper.state == "printed"
    assert stored.startswith(b"%PDF-") and digest_of_bytes(stored) == paper.print_digest
    assert Job.objects.get(kind="papers.print").state == "done"
    services.enqueue("papers.print", paper.pk)
    run_jobs()
    paper_again = Paper.objects.get(pk=paper.pk)
    assert paper_again.storage_key == paper.storage_key
    assert Entry.objects.filter(kind="paper.printed").count() == 1


def test_a_worker_that_lost_its_claim_leaves_nothing(case, dentist):
    paper = issue(case.order, dentist)
    job = claim(Job.objects.get(kind="papers.print").pk)
    Job.objects.filter(pk=job.pk).update(token="another")

    with pytest.raises(Lost):
        services.print_paper(paper.pk, job)
    paper.refresh_from_db()
    assert (paper.state, paper.storage_key) == ("waiting", "")
    assert not _stored(case)


def bytes_of(paper):
    with default_storage.open(paper.storage_key) as stored:
        return stored.read()


def _stored(case):
    folder = f"{case.order.practice_id}/{case.code}/papers"
    return default_storage.listdir(folder)[1] if default_storage.exists(folder) else []


def test_a_failure_is_said_and_tried_again(case, dentist, run_jobs, monkeypatch):
    paper = issue(case.order, dentist)
    with monkeypatch.context() as broken:
        broken.setattr(printing, "pdf_of", _break)
        run_jobs()

    paper.refresh_from_db()
    assert paper.state == "failed"
    assert paper.problem.startswith("The print could not be made: the disc is full.")
    job = Job.objects.get(kind="papers.print")
    assert job.state == "waiting"
    Job.objects.filter(pk=job.pk).update(due_at=job.due_at.replace(year=2020))
    run_jobs()
    paper.refresh_from_db()
    assert (paper.state, paper.problem) == ("printed", "")


def _break(paper):
    raise ValueError("the disc is full")


def test_without_pango_the_paper_says_so_and_rests(case, dentist, run_jobs, monkeypatch):
    paper = issue(case.order, dentist)
    with monkeypatch.context() as broken:
        broken.setattr(printing, "pdf_of", _no_pango)
        run_jobs()

    paper.refresh_from_db()
    assert paper.state == "failed" and "Pango" in paper.problem
    assert Job.objects.get(kind="papers.print").state == "done"
    services.print_again(paper)
    run_jobs()
    paper.refresh_from_db()
    assert paper.state == "printed"
    with pytest.raises(Refused):
        services.print_again(paper)


def _no_pango(paper):
    raise printing.NoPango("cannot load library")


def test_erasing_takes_the_name_out_of_row_and_print(
    case, dentist, technician, run_jobs, tmp_path, django_capture_on_commit_callbacks
):
    scene.fill(case, dentist, technician)
    record, plan = scene.deliver(case, dentist)
    sheet = issue(case.order, dentist)
    run_jobs()
    before = {paper.pk: Paper.objects.get(pk=paper.pk) for paper in (record, plan, sheet)}
    printed = bytes_of(before[record.pk])
    assert "Quirina Testperson" in text_of_pdf(printed, tmp_path)

    with django_capture_on_commit_callbacks(execute=True):
        services.erase_prints(case.order)
    for paper in (record, plan):
        assert not default_storage.exists(before[paper.pk].storage_key)
        paper.refresh_from_db()
        assert (paper.personal, paper.state) == (None, "waiting")
        assert paper.facts_digest == before[paper.pk].facts_digest
    assert default_storage.exists(before[sheet.pk].storage_key)
    run_jobs()
    record.refresh_from_db()
    text = text_of_pdf(bytes_of(record), tmp_path)
    assert "Quirina" not in text and case.order.patient.code in text and "RL-5" in text


def test_a_print_under_way_while_the_name_is_erased_is_dropped(
    case, dentist, technician, monkeypatch
):
    scene.fill(case, dentist, technician)
    record, _plan = scene.deliver(case, dentist)
    job = claim(Job.objects.get(kind="papers.print", subject_id=record.pk).pk)
    draw = printing.pdf_of

    def erase_meanwhile(paper):
        pdf = draw(paper)
        services.erase_prints(case.order)
        return pdf

    monkeypatch.setattr(printing, "pdf_of", erase_meanwhile)
    with pytest.raises(services.ErasedMeanwhile):
        services.print_paper(record.pk, job)
    record.refresh_from_db()
    assert (record.state, record.storage_key) == ("waiting", "")
    assert not _stored(case)
