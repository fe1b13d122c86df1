"""How does background work wait, get claimed, survive a crash and end once?

The row is inserted in the transaction that causes it. Any number of workers may try to claim
it: one conditional update wins and holds it for a lease with a token of its own. A worker that
dies lets the lease run out; the sweep puts the row back until it was tried ATTEMPTS_MAX times.
Results are written by `finish` with the token, so that a worker that lost its claim writes
nothing. `wake` is told after commit; it may fail, the sweep finds the row.

Time is the database's: workers whose own clocks are wrong neither wait nor take too early.
"""

import logging
import uuid
from datetime import UTC, datetime, timedelta

from django.conf import settings
from django.db import connection, transaction
from django.db.models import F, Q

from orders.jobs.models import Job

logger = logging.getLogger(__name__)

ATTEMPTS_MAX = 5
# Wait before the next try, by how often it was tried.
RETRY_S = (2, 10, 60, 300)
# Looked at in one sweep; the rest follows when these are done.
SWEPT = 200

_wakers = []


class Lost(Exception):
    """The claim on the job is gone: another worker has it, or it was ended."""


def on_wake(waker):
    """Register a function of a job's id that tells workers to look."""
    _wakers.append(waker)


def forget_waker(waker):
    """Undo `on_wake`."""
    if waker in _wakers:
        _wakers.remove(waker)


def clock():
    """What time it is for every worker: the database's."""
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            cursor.execute("SELECT statement_timestamp()")
            return cursor.fetchone()[0]
        cursor.execute("SELECT strftime('%Y-%m-%dT%H:%M:%f', 'now')")
        told = datetime.fromisoformat(cursor.fetchone()[0]).replace(tzinfo=UTC)
    # SQLite cuts at the millisecond; whatever fell due within it is due.
    return told + timedelta(milliseconds=1)


def enqueue(kind, subject_id, *, due_at=None):
    """Put a job in line inside the caller's transaction; one waiting is enough.

    The waiting row is locked, so that no worker starts it before the caller's change stands.
    """
    due_at = due_at or clock()
    with transaction.atomic():
        waiting = Job.objects.filter(kind=kind, subject_id=subject_id, state="waiting")
        job = waiting.filter(due_at__lte=due_at).select_for_update().first()
        if job is None:
            job = Job.objects.create(kind=kind, subject_id=subject_id, due_at=due_at)
    transaction.on_commit(lambda: wake(job.pk))
    return job


def wake(job_id):
    """Tell the workers; a broker that is away only costs time."""
    for waker in _wakers:
        try:
            waker(job_id)
        except Exception as problem:
            logger.warning("job %s waits for the sweep: %s", job_id, problem)


def claim(job_id, *, at=None):
    """Take the job and return it with a fresh token, or None where it is not to be had."""
    at = at or clock()
    token = uuid.uuid4().hex
    taken = Job.objects.filter(_free(at), pk=job_id, attempts__lt=ATTEMPTS_MAX).update(
        state="running",
        token=token,
        lease_until=at + timedelta(seconds=settings.JOB_LEASE_S),
        deadline_at=at + timedelta(seconds=settings.JOB_DEADLINE_S),
        attempts=F("attempts") + 1,
        progress="",
        error="",
    )
    return Job.objects.filter(pk=job_id, token=token).first() if taken else None


def _free(at):
    return Q(state="waiting", due_at__lte=at) | Q(state="running", lease_until__lt=at)


def renew(job, progress=None, *, at=None):
    """Hold the job longer, never beyond its deadline; raises Lost."""
    at = at or clock()
    until = min(at + timedelta(seconds=settings.JOB_LEASE_S), job.deadline_at)
    held = Job.objects.filter(pk=job.pk, token=job.token, state="running", deadline_at__gt=at)
    said = {} if progress is None else {"progress": progress[:120]}
    if not held.update(lease_until=until, **said):
        raise Lost(str(job))


def finish(job, *, at=None):
    """End the job; raises Lost where the claim is gone, so that the result is undone."""
    held = Job.objects.filter(pk=job.pk, token=job.token, state="running")
    if not held.update(state="done", done_at=at or clock(), progress=""):
        raise Lost(str(job))


def fail(job, problem, *, at=None):
    """Put the job back for another try, or let it rest as dead with its reason."""
    at = at or clock()
    dead = job.attempts >= ATTEMPTS_MAX
    wait = RETRY_S[min(job.attempts, len(RETRY_S)) - 1]
    Job.objects.filter(pk=job.pk, token=job.token, state="running").update(
        state="dead" if dead else "waiting",
        due_at=at + timedelta(seconds=wait),
        lease_until=None,
        error=str(problem)[:2000],
        progress="",
    )


def sweep(*, at=None):
    """Jobs to be claimed by now, in the order they were made; the hopeless are laid to rest."""
    at = at or clock()
    overdue = Job.objects.filter(state="running", lease_until__lt=at)
    overdue.filter(attempts__gte=ATTEMPTS_MAX).update(
        state="dead", error="interrupted too often: the worker ended while it ran"
    )
    return list(Job.objects.filter(_free(at)).order_by("pk")[:SWEPT])


def overdue_since(started_at, *, at=None):
    """Jobs claimed after a moment whose deadline has passed and that still run."""
    at = at or clock()
    claimed_after = started_at + timedelta(seconds=settings.JOB_DEADLINE_S)
    late = Job.objects.filter(state="running", deadline_at__lt=at)
    return list(late.filter(deadline_at__gte=claimed_after))


def revive(job_id, *, at=None):
    """Give a dead job another round of tries, because a person asked."""
    Job.objects.filter(pk=job_id, state="dead").update(
        state="waiting", attempts=0, due_at=at or clock(), error=""
    )
    transaction.on_commit(lambda: wake(job_id))
