"""How do workers hear of a job? A message with its id: at once after commit, or by a sweep."""

import logging
import queue
import threading

from django.conf import settings
from django.core.cache import cache

from orders.jobs.services import on_wake, sweep

logger = logging.getLogger(__name__)

# What waits to be sent when the broker is slow; the sweep finds what does not fit.
UNSENT_MAX = 1000


def wake_by_broker():
    """With Redis every process publishes; without, the parent of the worker wakes it."""
    if settings.REDIS:
        on_wake(Publisher().publish_soon)


def publish(job_id):
    """Send one message; raises where the broker is away."""
    from casework.tasks import do_job

    do_job.apply_async((job_id,), retry=False)


class Publisher:
    """Sends messages from a thread of its own: nobody waits for a broker that is away."""

    def __init__(self, send=publish):
        self.send = send
        self._unsent = queue.Queue(UNSENT_MAX)
        self._thread = None
        self._lock = threading.Lock()

    def publish_soon(self, job_id):
        try:
            self._unsent.put_nowait(job_id)
        except queue.Full:
            logger.warning("job %s waits for the sweep: the broker is slow", job_id)
        with self._lock:
            # A fork copies the object without its thread.
            if self._thread is None or not self._thread.is_alive():
                self._thread = threading.Thread(
                    target=self._run, name="publish jobs", daemon=True
                )
                self._thread.start()

    def _run(self):
        while True:
            job_id = self._unsent.get()
            try:
                self.send(job_id)
            except Exception as problem:
                logger.warning("job %s waits for the sweep: %s", job_id, problem)


def publish_due():
    """Publish every job that is due, each try once within a lease: a queue does not swell."""
    for job in sweep():
        key = f"published-{job.pk}-{job.attempts}-{job.due_at.timestamp()}"
        if cache.add(key, 1, timeout=settings.JOB_LEASE_S):
            try:
                publish(job.pk)
            except Exception:
                cache.delete(key)
                raise
