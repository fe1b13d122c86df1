"""Is a job done once in effect, whatever happens to workers, clocks, leases and messages?"""

import threading
from datetime import timedelta

import pytest
from django.db import close_old_connections, connections, transaction
from django.utils import timezone

from orders.jobs import services as jobs
from orders.jobs.models import Job
from orders.jobs.queries import pending

KIND = "parties.reset_mail"
LEASE = timedelta(seconds=60)
DEADLINE = timedelta(seconds=900)


@pytest.fixture
def start(db, settings):
    settings.JOB_LEASE_S, settings.JOB_DEADLINE_S = 60, 900
    return timezone.now()


@pytest.fixture
def job(start):
    return jobs.enqueue(KIND, 7, due_at=start)


def in_threads(count, act):
    """Runs an act in threads that start together; returns what each gave or raised."""
    barrier, given = threading.Barrier(count), []

    def run():
        close_old_connections()
        barrier.wait()
        try:
            given.append(act())
        except Exception as problem:
            given.append(problem)
        finally:
            connections.close_all()

    threads = [threading.Thread(target=run) for _ in range(count)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return given


def test_one_waiting_job_is_enough(job, start):
    again = jobs.enqueue(KIND, 7, due_at=start)
    other = jobs.enqueue(KIND, 8, due_at=start)

    assert again.pk == job.pk
    assert other.pk != job.pk


def test_a_job_under_way_does_not_stand_for_a_later_change(job, start):
    jobs.claim(job.pk, at=start)

    assert jobs.enqueue(KIND, 7, due_at=start).pk != job.pk


def test_a_job_due_later_does_not_stand_for_one_due_now(start):
    later = jobs.enqueue(KIND, 7, due_at=start + timedelta(hours=1))

    assert jobs.enqueue(KIND, 7, due_at=start).pk != later.pk


def test_what_is_rolled_back_leaves_no_job(start):
    with pytest.raises(RuntimeError), transaction.atomic():
        jobs.enqueue(KIND, 7)
        raise RuntimeError

    assert not Job.objects.exists()


def test_a_claim_counts_and_holds_for_a_lease(job, start):
    held = jobs.claim(job.pk, at=start)

    assert (held.state, held.attempts, len(held.token)) == ("running", 1, 32)
    assert held.lease_until == start + LEASE
    assert held.deadline_at == start + DEADLINE


def test_what_is_held_is_not_claimed_again(job, start):
    jobs.claim(job.pk, at=start)

    assert jobs.claim(job.pk, at=start + LEASE) is None
    assert jobs.sweep(at=start + LEASE) == []


def test_what_is_not_due_is_not_claimed(start):
    job = jobs.enqueue(KIND, 7, due_at=start + timedelta(seconds=1))

    assert jobs.claim(job.pk, at=start) is None
    assert jobs.sweep(at=start) == []
    assert jobs.claim(job.pk, at=start + timedelta(seconds=1))


def test_nothing_is_claimed_of_a_row_that_is_not_there(start):
    assert jobs.claim(987654321, at=start) is None


def test_a_lease_that_ran_out_lets_another_take_over(job, start):
    first = jobs.claim(job.pk, at=start)
    after = start + LEASE + timedelta(seconds=1)

    second = jobs.claim(job.pk, at=after)

    assert second.attempts == 2
    assert second.token != first.token


def test_renewing_holds_longer_and_says_how_far_it_is(job, start):
    held = jobs.claim(job.pk, at=start)
    late = start + timedelta(seconds=50)

    jobs.renew(held, "edges counted", at=late)
    jobs.renew(held, at=late + timedelta(seconds=1))

    row = Job.objects.get(pk=job.pk)
    assert row.lease_until == late + timedelta(seconds=1) + LEASE
    assert row.progress == "edges counted"


def test_renewing_cannot_pass_the_deadline(job, start):
    held = jobs.claim(job.pk, at=start)
    ends = start + DEADLINE

    jobs.renew(held, at=ends - timedelta(seconds=5))

    assert Job.objects.get(pk=job.pk).lease_until == ends
    with pytest.raises(jobs.Lost):
        jobs.renew(held, at=ends)
    assert jobs.claim(job.pk, at=ends + timedelta(seconds=1))


def test_who_lost_the_claim_writes_nothing(job, start):
    first = jobs.claim(job.pk, at=start)
    after = start + LEASE + timedelta(seconds=1)
    second = jobs.claim(job.pk, at=after)

    with pytest.raises(jobs.Lost):
        jobs.renew(first, "half", at=after)
    with pytest.raises(jobs.Lost), transaction.atomic():
        jobs.enqueue("papers.print", 1)
        jobs.finish(first, at=after)
    jobs.fail(first, "came too late", at=after)

    row = Job.objects.get(pk=job.pk)
    assert (row.state, row.token, row.error, row.progress) == ("running", second.token, "", "")
    assert not Job.objects.filter(kind="papers.print").exists()


def test_a_finished_job_is_never_done_again(job, start):
    held = jobs.claim(job.pk, at=start)
    jobs.finish(held, at=start)

    assert jobs.claim(job.pk, at=start + DEADLINE) is None
    assert jobs.sweep(at=start + DEADLINE) == []
    with pytest.raises(jobs.Lost):
        jobs.finish(held, at=start)
    assert Job.objects.get(pk=job.pk).done_at == start


def test_a_failure_waits_longer_each_time_and_rests_after_the_fifth(job, start):
    waited, at = [], start
    for _attempt in range(jobs.ATTEMPTS_MAX):
        jobs.fail(jobs.claim(job.pk, at=at), "no route to the mail host", at=at)
        row = Job.objects.get(pk=job.pk)
        waited.append((row.due_at - at).total_seconds())
        at = row.due_at

    assert waited[:4] == [2, 10, 60, 300]
    assert (row.state, row.error) == ("dead", "no route to the mail host")
    assert jobs.claim(job.pk, at=at + DEADLINE) is None
    assert pending(KIND, [7])[7].state == "dead"


def test_a_job_whose_worker_always_dies_is_laid_to_rest(job, start):
    at = start
    for _attempt in range(jobs.ATTEMPTS_MAX):
        assert jobs.claim(job.pk, at=at)
        at += LEASE + timedelta(seconds=1)

    assert jobs.claim(job.pk, at=at) is None
    assert jobs.sweep(at=at) == []
    row = Job.objects.get(pk=job.pk)
    assert row.state == "dead"
    assert "interrupted" in row.error


def test_a_dead_job_is_tried_again_when_a_person_asks(job, start):
    Job.objects.filter(pk=job.pk).update(state="dead", attempts=5, error="was away")

    jobs.revive(job.pk, at=start)

    held = jobs.claim(job.pk, at=start)
    assert (held.attempts, held.error) == (1, "")


@pytest.mark.parametrize("state", ["waiting", "running", "done"])
def test_only_a_dead_job_is_revived(job, start, state):
    Job.objects.filter(pk=job.pk).update(state=state, attempts=3)

    jobs.revive(job.pk, at=start)

    row = Job.objects.get(pk=job.pk)
    assert (row.state, row.attempts) == (state, 3)


def test_only_a_job_claimed_since_is_overdue(job, start):
    jobs.claim(job.pk, at=start)
    after = start + DEADLINE + timedelta(seconds=1)

    assert [row.pk for row in jobs.overdue_since(start, at=after)] == [job.pk]
    assert jobs.overdue_since(start, at=start + DEADLINE) == []
    # A worker that started after the claim does not run it.
    assert jobs.overdue_since(start + timedelta(seconds=1), at=after) == []


def test_d04_order_follows_the_sequence_whatever_the_clocks_say(start):
    """The process that made the second row had a clock 300 s behind, the first 300 s ahead."""
    behind, ahead = start - timedelta(seconds=300), start + timedelta(seconds=300)
    rows = [jobs.enqueue(KIND, n, due_at=at) for n, at in ((1, start), (2, behind))]
    Job.objects.filter(pk=rows[0].pk).update(made_at=ahead)
    Job.objects.filter(pk=rows[1].pk).update(made_at=behind)

    assert [job.pk for job in jobs.sweep(at=start)] == [rows[0].pk, rows[1].pk]


def test_d04_a_worker_whose_clock_is_behind_takes_the_job_at_once(start, monkeypatch):
    job = jobs.enqueue(KIND, 7)
    slow = start - timedelta(seconds=300)
    monkeypatch.setattr(timezone, "now", lambda: slow)

    held = jobs.claim(job.pk)
    jobs.finish(held)

    row = Job.objects.get(pk=job.pk)
    assert row.state == "done"
    assert row.done_at >= row.due_at


def test_d04_a_worker_whose_clock_is_ahead_takes_no_job_from_another(start, monkeypatch):
    job = jobs.enqueue(KIND, 7)
    jobs.claim(job.pk)
    fast = start + timedelta(seconds=300)
    monkeypatch.setattr(timezone, "now", lambda: fast)

    assert jobs.sweep() == []
    assert jobs.claim(job.pk) is None


def test_what_is_due_by_the_clock_of_this_machine_is_due(start):
    """SQLite tells the time to the millisecond; a moment within it must not be missed."""
    for number in range(200):
        job = jobs.enqueue(KIND, number, due_at=timezone.now())
        assert jobs.claim(job.pk)


@pytest.mark.django_db(transaction=True)
@pytest.mark.xdist_group("threads")
def test_d13_of_many_that_claim_at_once_one_has_it():
    for number in range(10):
        job = jobs.enqueue(KIND, number)

        claims = in_threads(4, lambda pk=job.pk: jobs.claim(pk))

        assert sum(claim is not None for claim in claims) == 1
        assert Job.objects.get(pk=job.pk).attempts == 1


@pytest.mark.django_db(transaction=True)
@pytest.mark.xdist_group("threads")
def test_d13_two_that_finish_with_one_claim_leave_one_result():
    job = jobs.enqueue(KIND, 7)
    held = jobs.claim(job.pk)

    def write():
        with transaction.atomic():
            jobs.enqueue("papers.print", 1)
            jobs.finish(held)

    given = in_threads(2, write)

    assert sorted(type(one).__name__ for one in given) == ["Lost", "NoneType"]
    assert Job.objects.filter(kind="papers.print").count() == 1


@pytest.mark.django_db(transaction=True)
def test_workers_are_woken_after_commit_not_before():
    woken = []
    jobs.on_wake(woken.append)
    try:
        with transaction.atomic():
            job = jobs.enqueue(KIND, 7)
            assert woken == []
        assert woken == [job.pk]
    finally:
        jobs.forget_waker(woken.append)


@pytest.mark.django_db(transaction=True)
def test_d15_a_waker_that_raises_costs_only_time(caplog):
    woken = []

    def broken(job_id):
        raise ConnectionError("the broker is away")

    jobs.on_wake(broken)
    jobs.on_wake(woken.append)
    try:
        job = jobs.enqueue(KIND, 7)
    finally:
        jobs.forget_waker(broken)
        jobs.forget_waker(woken.append)

    assert woken == [job.pk]
    assert [row.pk for row in jobs.sweep()] == [job.pk]
    assert "the broker is away" in caplog.text
